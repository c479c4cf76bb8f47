"""The bytes of a text file in whatever encoding it was written: a Windows shell's ``>`` writes UTF-16."""

import codecs
import io
from pathlib import Path
from typing import IO

_LOOKED_AT = 1 << 17


def find_encoding(head: bytes) -> str:
    """The encoding of a text file by its first bytes."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    nulls = head[1::2].count(0), head[0::2].count(0)
    # A hole of nothing but zeros, as a pulled plug leaves, has them in every other byte and in those between.
    if max(nulls) > 0.3 * len(head) / 2 and min(nulls) < max(nulls) / 4:
        return "utf-16-le" if nulls[0] > nulls[1] else "utf-16-be"
    # Rubbish in the rows must not decide how the header's degree sign is read.
    top = b"\n".join(head.splitlines()[:5])
    try:
        top.decode("utf-8")
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8-sig"


def narrow(content: bytes, encoding: str) -> bytes:
    """Content of UTF-16 as UTF-8; of any other encoding as it is."""
    return content.decode(encoding, errors="replace").encode() if encoding.startswith("utf-16") else content


def open_bytes(path: Path, encoding: str) -> IO[bytes]:
    """A file's bytes, those of UTF-16 as UTF-8. OSError where it cannot be opened."""
    return io.BytesIO(narrow(path.read_bytes(), encoding)) if encoding.startswith("utf-16") else path.open("rb")


def open_lines(path: Path, *, encoding: str, newline: str | None = None) -> IO[str]:
    """A text file's lines, read in ``encoding`` unless it says another. OSError where it cannot be opened."""
    with path.open("rb") as stream:
        head = stream.read(_LOOKED_AT)
    found = find_encoding(head)
    marked = head.startswith(codecs.BOM_UTF8)
    used = "utf-8-sig" if marked or found.startswith("utf-16") else encoding
    return io.TextIOWrapper(open_bytes(path, found), encoding=used, errors="replace", newline=newline)
