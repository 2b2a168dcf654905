"""What decoding libraries say is listened to, and standard error is whole again afterwards."""

import os
import time
from concurrent.futures import ThreadPoolExecutor

from dotloupe.capture.captured_stderr import captured_stderr


def say(number):
    with captured_stderr() as lines:
        os.write(2, f"from {number}\n".encode())
        time.sleep(0.002)
    return lines


def test_each_block_hears_its_own_lines_whatever_other_threads_do(capfd):
    with ThreadPoolExecutor(8) as pool:
        heard = list(pool.map(say, range(60)))
    assert heard == [[f"from {number}"] for number in range(60)]
    os.write(2, b"still here\n")
    assert capfd.readouterr().err == "still here\n"


def test_where_standard_error_is_closed_nothing_is_heard_and_nothing_fails(monkeypatch):
    def closed(_number):
        raise OSError(9, "Bad file descriptor")

    monkeypatch.setattr(os, "dup", closed)
    with captured_stderr() as lines:
        done = 1
    assert (done, lines) == (1, [])
