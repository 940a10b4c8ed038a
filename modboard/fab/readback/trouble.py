"""What a reader says of a file it cannot understand: file, line and what is wrong.  It never guesses."""

from __future__ import annotations

from modboard.errors import ModboardError


class ReadError(ModboardError):
    """A file that breaks its format or uses a part of it that is not read; the text starts with file and line.

    Line 0 stands for the file as a whole and is not said.
    """

    def __init__(self, file: str, line: int, message: str) -> None:
        self.file, self.line = file, line
        super().__init__(f"{file}:{line}: {message}" if line else f"{file}: {message}")
