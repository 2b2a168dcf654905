"""Session files and published results that nobody wrote by hand: refused in one line."""

import json

import pytest

from dotloupe.errors import InputError
from dotloupe.session.remeasuring import load_published
from dotloupe.session.session_file import load_plan, planned_captures

RUN = 'printer = "a"\npaper = "b"\n[[runs]]\nrun = 1\nppi = 600\nmode = "x"\n'


def captures(name):
    return f"{RUN}captures = [{json.dumps(name)}]\n"


def refusal(read, path):
    with pytest.raises(InputError) as caught:
        read(path)
    message = str(caught.value)
    assert message.startswith(str(path))
    assert "\n" not in message
    return message


SESSIONS = {
    "nested lists": ("x = " + "[" * 20_000, "nested too deeply"),
    "nested tables": ("x = " + "{a=" * 20_000, "nested too deeply"),
    "endless number": (RUN.replace("600", "9" * 5000), "not valid TOML"),
    "day that is none": (RUN + "printed = 2026-02-30\n", "Invalid date"),
    "half a character": (captures("?.jpg").replace("?", "\\ud800"), "not a Unicode scalar"),
    "long name": (captures("x" * 300 + ".jpg"), "File name too long; check the name"),
    "long pattern": (captures("x" * 300 + "*.jpg"), "File name too long; check the name"),
    "zero byte": (captures("a\0.jpg"), "is not a file; check the name"),
    "stars within a name": (captures("**a/*.jpg"), "Invalid pattern"),
    "open bracket": (captures("[.jpg"), "matches no photograph"),
    "the folder itself": (captures("."), "is not a file"),
    "folders by pattern": (captures("*/."), "check"),
}


@pytest.mark.parametrize("kind", SESSIONS)
def test_a_session_file_is_refused(tmp_path, kind):
    text, words = SESSIONS[kind]
    path = tmp_path / "plan.toml"
    path.write_text(text)
    assert words in refusal(lambda p: planned_captures(load_plan(p)), path)


def published(path):
    shot = {"path": path, "sha256": "0", "print": "a"}
    return json.dumps({"points": [], "captures": {"300": [shot]}, "parameters": {}})


RESULTS = {
    "nested lists": ("[" * 100_000, "not JSON"),
    "nested tables": ('{"a":' * 100_000, "not JSON"),
    "endless number": ('{"points": ' + "9" * 5000 + "}", "not JSON"),
    "long name": (published("x" * 5000), "cannot be read (File name too long)"),
    "zero byte": (published("a\0"), "is gone"),
    "half a character": (published("\ud800"), "is gone"),
}


@pytest.mark.parametrize("kind", RESULTS)
def test_a_published_result_is_refused(tmp_path, kind):
    text, words = RESULTS[kind]
    path = tmp_path / "published.json"
    path.write_text(text)
    assert words in refusal(load_published, path)
