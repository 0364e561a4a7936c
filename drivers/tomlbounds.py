"""Bounds on TOML before it is parsed: what would cost the parser seconds, or its stack; pure.

A key of n dots costs tomllib of the order of n² steps, and each bracket within brackets a few frames of the stack.
"""

import re
from dataclasses import dataclass

# Each alternative runs to the end of its token even where that is unclosed, so that one pass is linear.
_QUOTED = re.compile(
    r'"""(?:\\.|[^\\])*?(?:"""|\Z)'
    r"|'''.*?(?:'''|\Z)"
    r'|"(?:\\[^\n]|[^"\\\n])*+"?'
    r"|'[^'\n]*+'?"
    r"|(?P<comment>#[^\n]*+)",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much of it is parsed."""

    lines: int
    line: int
    """Characters of one line."""
    dots: int = 8
    """Dots of one key."""
    depth: int = 8
    """Brackets within brackets."""

    def broken_by(self, text: str) -> str:
        """Say what of a text is beyond these bounds, and in which line; empty when nothing is."""
        lines = text.split("\n")  # as TOML does: what else breaks lines elsewhere is part of a line here
        if len(lines) > self.lines + 1:
            return f"{len(lines)} lines; at most {self.lines} are allowed"
        for number, content in enumerate(lines, 1):
            if len(content) > self.line:
                return f"line {number} has {len(content)} characters; at most {self.line} are allowed"
        # a quoted key stands as `q`, so that what is written inside quotes counts for nothing
        bare = _QUOTED.sub(lambda match: "" if match["comment"] else "q" + "\n" * match[0].count("\n"), text)
        return self._dotted(bare) or self._nested(bare)

    def _dotted(self, bare: str) -> str:
        part = r"[\w-]++"
        found = re.search(rf"(?<![\w-]){part}(?:[ \t]*+\.[ \t]*+{part}){{{self.dots + 1}}}", bare)
        if found is None:
            return ""
        line = bare.count("\n", 0, found.start()) + 1
        return f"line {line}: a key with more than {self.dots} dots; none are needed"

    def _nested(self, bare: str) -> str:
        depth, line = 0, 1
        for char in bare:
            line += char == "\n"
            depth = max(0, depth + (char in "[{") - (char in "]}"))
            if depth > self.depth:
                return f"line {line}: more than {self.depth} brackets within brackets; two are enough"
        return ""
