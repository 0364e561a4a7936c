"""What the fuzz tests share: how many examples, ways to spoil a text or octets, and what may come of it.

One command runs them for long: EVENHAND_FUZZ=1000 pytest -k fuzz_ tests (examples of each test; seeds stay fixed).
With EVENHAND_FUZZ_ANEW=1 besides, the seed is pytest's --hypothesis-seed=N, or another one each time.
"""

import os
import resource
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from logger.errors import EvenhandError

EXAMPLES = int(os.environ.get("EVENHAND_FUZZ", "0"))
"""Examples of each test; 0 is the few that run each time."""
ANEW = "EVENHAND_FUZZ_ANEW" in os.environ
"""Whether other seeds than the fixed ones are wanted: a derandomized test heeds none that is given."""
LONGEST_S = 20
"""Seconds of the processor for one input: nothing takes a fraction of it, and what does not end is stopped."""


def fuzzed(few: int) -> settings:
    """Return how a fuzz test runs: `few` examples each time, as many as asked for by the environment."""
    return settings(
        max_examples=EXAMPLES or few,
        derandomize=not ANEW,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


class EndlessError(BaseException):
    """One input kept the processor busy; no handler of the program may take it for an error of its own."""


def _stop(_: int, __: FrameType | None) -> None:
    raise EndlessError(f"one input took more than {LONGEST_S} s of the processor")


@contextmanager
def ends() -> Iterator[None]:
    """Stop what does not end; it counts the processor's time, so that a busy machine changes nothing."""
    before = signal.signal(signal.SIGVTALRM, _stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def told(call: Callable[[], object], *errors: type[Exception]) -> str:
    """Return what is said of an input, nothing where it is taken; any error but the project's own goes through."""
    ours: tuple[type[Exception], ...] = (EvenhandError, *errors)
    with ends():
        try:
            call()
        except ours as error:
            said = str(error)
            assert said.strip()
            assert "Traceback" not in said
            return said
    return ""


@contextmanager
def within(octets: int) -> Iterator[None]:
    """Let the process have no more than so much memory besides what it has: a larger request is a MemoryError."""
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
        has = int(file.read().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (has + octets, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


# --- what an input is spoiled with ----------------------------------------------------------------------------------

NUMBERS = (
    *("0", "-0", "-1", "00012", "1e999999999", "-1e999999999", "1e-999999999", "0e999999999", "1E400", "9" * 5000),
    *("nan", "NaN", "inf", "-Infinity", "0x" + "f" * 900, "1_0", "0." + "0" * 400 + "1", str(2**63), str(2**53)),
)
ODD = (
    *("\0", "\x1b[2J", "\x07", "\r", "\u202e", "\u2028", "\x85", "\x0b", "\ufeff", "\U0010ffff", "\ud800", "１２", "−"),
    *("é" * 300, "x" * 70_000, '"', "'", '"""', "'''", "\\", "\\ud800", "\\u0000", "#", "=", "{", "}", "[", "]"),
    *("[" * 3000, "{" * 3000, "[[" * 500, '{"a":' * 3000, "a." * 400 + "a = 1\n", '"\u2028".a.' * 900, "\n" * 3000),
    *("[[step]]\n", "[[tool]]\n", "[[values]]\n", "[[vector]]\n", "null", "true", "{}", "[]", '""', "1979-05-27"),
    *("../../x", "%n", "{{7*7}}", "(a+)+$", "a{99999999999}", "-9999-99-99T99:99:99Z", "+99:99", "\t", ",", ".", " "),
)
PIECES = st.sampled_from([*NUMBERS, *ODD]) | st.text(max_size=12)


@st.composite
def spoiled(draw: st.DrawFn, sources: st.SearchStrategy[str]) -> str:
    """Draw a text with one to four changes: cut, doubled, moved, put in, a character turned, a number made odd."""
    text = draw(sources)
    for _ in range(draw(st.integers(1, 4))):
        text = _changed(draw, text)
    return text


def _changed(draw: st.DrawFn, text: str) -> str:
    start = draw(st.integers(0, len(text)))
    end = min(len(text), start + draw(st.integers(0, 40)))
    match draw(st.sampled_from(("cut", "double", "put in", "replace", "number", "value", "line", "end"))):
        case "cut":
            return text[:start] + text[end:]
        case "double":
            return text[:end] + text[start:end] * draw(st.integers(1, 50)) + text[end:]
        case "put in":
            return text[:start] + draw(PIECES) + text[start:]
        case "replace":
            return text[:start] + draw(PIECES) + text[end:]
        case "number":
            return _instead(draw, text, str.isdigit, draw(st.sampled_from(NUMBERS)))
        case "value":
            return _after(draw, text, draw(PIECES))
        case "line":
            lines = text.split("\n")
            at, to = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
            return "\n".join([*lines[:at], lines[to], *lines[at + draw(st.integers(0, 1)) :]])
        case _:
            return text[:start]


def _instead(draw: st.DrawFn, text: str, like: Callable[[str], bool], piece: str) -> str:
    """Put a piece in the place of a run of characters."""
    places = [at for at, char in enumerate(text) if like(char) and not (at and like(text[at - 1]))]
    if not places:
        return text + piece
    start = draw(st.sampled_from(places))
    end = next((at for at in range(start, len(text)) if not like(text[at])), len(text))
    return text[:start] + piece + text[end:]


def _after(draw: st.DrawFn, text: str, piece: str) -> str:
    """Put a piece in the place of what stands after an equals sign or a colon, to the end of it."""
    places = [at for at, char in enumerate(text) if char in "=:"]
    if not places:
        return text + piece
    start = draw(st.sampled_from(places)) + 1
    end = next((at for at in range(start, len(text)) if text[at] in ",}\n"), len(text))
    return text[:start] + piece + text[end:]


@st.composite
def spoiled_octets(draw: st.DrawFn, sources: st.SearchStrategy[bytes]) -> bytes:
    """Draw octets with one to six changes: a bit turned, a run cut, doubled or filled, something put in, an end cut."""
    data = bytearray(draw(sources))
    for _ in range(draw(st.integers(1, 6))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 16)))
        match draw(st.sampled_from(("bit", "cut", "double", "fill", "put in", "end"))):
            case "bit" if start < len(data):
                data[start] ^= 1 << draw(st.integers(0, 7))
            case "cut":
                del data[start:end]
            case "double":
                data[end:end] = data[start:end] * draw(st.integers(1, 40))
            case "fill":
                data[start:end] = bytes([draw(st.sampled_from((0x00, 0x7F, 0x80, 0xFF)))]) * (end - start)
            case "put in":
                data[start:start] = draw(st.binary(max_size=16))
            case _:
                del data[start:]
    return bytes(data)


VALUES: st.SearchStrategy[object] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats()
    | st.sampled_from([*NUMBERS, *(odd for odd in ODD if len(odd) < 100)])
    | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)
"""What may stand where a value is expected."""


@st.composite
def misfilled(draw: st.DrawFn, sources: st.SearchStrategy[object]) -> object:
    """Draw a tree of JSON with one or two of its values exchanged, left out or given a second name."""
    tree = draw(sources)
    for _ in range(draw(st.integers(1, 2))):
        tree = _misfilled(draw, tree)
    return tree


def _misfilled(draw: st.DrawFn, tree: object) -> object:
    deeper = draw(st.integers(0, 9)) > 0
    match tree:
        case dict() if tree and deeper:
            key = draw(st.sampled_from(sorted(tree)))
            rest = {name: value for name, value in tree.items() if name != key}
            match draw(st.integers(0, 11)):
                case 0:
                    return rest
                case 1:
                    return tree | {draw(st.text(max_size=8)): tree[key]}
                case 2:
                    return tree | {key: tree[draw(st.sampled_from(sorted(tree)))]}
                case _:
                    return tree | {key: _misfilled(draw, tree[key])}
        case list() if tree and deeper:
            at = draw(st.integers(0, len(tree) - 1))
            return [*tree[:at], _misfilled(draw, tree[at]), *tree[at + draw(st.integers(0, 1)) :]]
        case str() if tree and not draw(st.integers(0, 2)):
            return draw(spoiled(st.just(tree)))
        case _:
            return draw(VALUES)
