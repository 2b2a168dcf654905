"""Names of files as text: systems allow bytes that are none, and databases and pages do not."""

from __future__ import annotations


def as_text(name: str) -> str:
    r"""Name with the bytes that are no text written out, as ``\xff`` is.

    A name that is text stays as it is.
    """
    try:
        content = name.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:  # half a character, which no file system gives
        content = name.encode("utf-8", "backslashreplace")
    return content.decode("utf-8", "backslashreplace")
