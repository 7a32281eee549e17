"""Which line of a TOML text a field stands on.

`tomllib` does not say, so a small scan notes the line of every table, key and list
entry. It runs only when there is a fault to report, on text that `tomllib` took.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache

__all__ = ["line_of"]

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_PART = re.compile(r"""\s*([\w-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')\s*""", re.ASCII)
_BARE = re.compile(r"[^,\]}\n#]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)


def line_of(text: str, path: Path) -> int | None:
    r"""Line on which a field, or the nearest table around it, stands.

    Args:
        text: The TOML text. [-]
        path: Keys and list positions down to the field. [-]

    Returns:
        Line counted from 1, or None where nothing of the path is in the text. [-]

    Example:
        >>> line_of('schema = 1\n[[loads]]\nid = "a"\n', ("loads", 0, "id"))
        3
    """
    known = _scan(text)
    while path:
        if path in known:
            return known[path]
        path = path[:-1]
    return None


@lru_cache(maxsize=1)
def _scan(text: str) -> dict[Path, int]:
    scan = _Scan(text)
    scan.document()
    return scan.known


class _Scan:
    """One walk over a text that is known to be TOML."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.known: dict[Path, int] = {}
        self.entries: dict[Path, int] = {}
        self._counted = (0, 1)

    def document(self) -> None:
        here: Path = ()
        self._blank()
        while self.at < len(self.text):
            before = self.at
            if self._took("[["):
                here = self._table(listed=True)
            elif self._took("["):
                here = self._table(listed=False)
            else:
                self._pair(here)
            self._blank()
            if self.at == before:  # not TOML after all; what is known stays
                return

    def _table(self, *, listed: bool) -> Path:
        line = self._line()
        path: Path = ()
        parts = self._key()
        self._took("]]" if listed else "]")
        for part in parts[:-1]:
            path = self._newest((*path, part))
        path = (*path, parts[-1])
        if listed:
            self.known.setdefault(path, line)
            self.entries[path] = self.entries.get(path, -1) + 1
            path = (*path, self.entries[path])
        self.known.setdefault(path, line)
        return path

    def _newest(self, path: Path) -> Path:
        """Return a header's path, a list of tables at its newest entry."""
        return (*path, self.entries[path]) if path in self.entries else path

    def _pair(self, here: Path) -> None:
        line = self._line()
        path = here
        for part in self._key():
            path = (*path, part)
            self.known.setdefault(path, line)
        self._took("=")
        self._spaces()
        self._filled(path)

    def _filled(self, path: Path) -> None:
        """Walk over what a key or list entry holds."""
        if self._took("["):
            self._list(path)
        elif self._took("{"):
            self._blank()
            while not self._took("}") and self.at < len(self.text):
                before = self.at
                self._pair(path)
                self._blank()
                self._took(",")
                self._blank()
                if self.at == before:
                    return
        else:
            found = _STRING.match(self.text, self.at) or _BARE.match(self.text, self.at)
            self.at = found.end() if found else len(self.text)

    def _list(self, path: Path) -> None:
        index = 0
        self._blank()
        while not self._took("]") and self.at < len(self.text):
            before = self.at
            self.known.setdefault((*path, index), self._line())
            self._filled((*path, index))
            self._blank()
            self._took(",")
            self._blank()
            index += 1
            if self.at == before:
                return

    def _key(self) -> list[str]:
        parts = []
        while found := _PART.match(self.text, self.at):
            self.at = found.end()
            parts.append(_unquoted(found[1]))
            if not self._took("."):
                break
        return parts or [""]

    def _took(self, mark: str) -> bool:
        taken = self.text.startswith(mark, self.at)
        self.at += len(mark) if taken else 0
        return taken

    def _spaces(self) -> None:
        while self.text[self.at : self.at + 1] in (" ", "\t"):
            self.at += 1

    def _blank(self) -> None:
        found = _BLANK.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _line(self) -> int:
        offset, line = self._counted
        line += self.text.count("\n", offset, self.at)
        self._counted = (self.at, line)
        return line


def _unquoted(part: str) -> str:
    if part[0] not in "\"'":
        return part
    unquoted: str = tomllib.loads(f"key = {part}")["key"]
    return unquoted
