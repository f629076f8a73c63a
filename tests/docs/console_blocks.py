"""Reads the examples of a Markdown page: what is typed, and what it says is printed.

A block is run where its info string says so: ```` ```console run ````. Lines that begin with `$ `
are typed, the lines below each are what it prints. `…` stands for anything within a line, and
alone on a line for any lines. `exit=1` in the info string says with which status the last command
of the block ends.
"""

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

from markdown_it import MarkdownIt

ANYTHING = "…"


@dataclass(frozen=True)
class Example:
    """One command of a page and the output that the page shows for it."""

    page: str
    line: int
    command: str
    printed: str
    status: int = 0

    def __str__(self) -> str:
        return f"{self.page}:{self.line}: {self.command}"


@dataclass(frozen=True)
class Block:
    """A fenced block; `line` is that of its first line of text."""

    page: str
    line: int
    info: tuple[str, ...]
    text: str

    @property
    def is_run(self) -> bool:
        return self.info[:1] == ("console",) and "run" in self.info

    def examples(self) -> list[Example]:
        status = next((int(w[5:]) for w in self.info if w.startswith("exit=")), 0)
        found = list(self._commands())
        return [
            Example(self.page, line, command, printed, status if index == len(found) - 1 else 0)
            for index, (line, command, printed) in enumerate(found)
        ]

    def _commands(self):
        lines = self.text.splitlines()
        starts = [number for number, text in enumerate(lines) if text.startswith("$ ")]
        for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
            last = start
            while lines[last].endswith("\\"):
                last += 1
            command = "\n".join(lines[start : last + 1])[2:]
            yield self.line + start, command, "\n".join(lines[last + 1 : end])


def blocks(page: Path) -> list[Block]:
    """Return the fenced blocks of a page."""
    tokens = MarkdownIt().parse(page.read_text(encoding="utf-8"))
    return [
        Block(page.name, token.map[0] + 2, tuple(shlex.split(token.info)), token.content)
        for token in tokens
        if token.type == "fence"
    ]


def matches(shown: str, printed: str) -> bool:
    """Say whether what a command printed is what the page shows."""
    # Every line ends with a line feed here, so that "any lines" may stand first, last or alone.
    pattern = r"(?:.*\n)*?".join(map(_pattern, _split_at_anything(_lines(shown))))
    return re.fullmatch(pattern, "".join(f"{line}\n" for line in _lines(printed))) is not None


def _pattern(lines: list[str]) -> str:
    return "".join(".*?".join(map(re.escape, line.split(ANYTHING))) + "\n" for line in lines)


def _split_at_anything(lines: list[str]) -> list[list[str]]:
    parts: list[list[str]] = [[]]
    for line in lines:
        if line.strip() == ANYTHING:
            parts.append([])
        else:
            parts[-1].append(line)
    return parts


def _lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip("\n").splitlines()]
