"""The door for everything typed: what a tool may have typed is cut into lines here, before any screen sees it."""

from collections.abc import Awaitable, Sequence
from typing import Protocol

from drivers.reading import Clock, Undecoded
from drivers.typed import TYPED, TypedError
from logger.bench.bench import Bench
from logger.bench.declare import adapter_in
from tui.safe import safe_text

from .keys import ENDS, Collector, Cut, Half, Line


class Desk(Protocol):
    """What the door needs of the screens."""

    @property
    def takes_text(self) -> bool:
        """Whether a person may type text into a field now."""
        ...

    def tell(self, text: str) -> None:
        """Show a hint."""
        ...

    def typing(self, text: str) -> None:
        """Show the line being typed."""
        ...

    def untype(self, text: str) -> None:
        """Take a reading out of the field it was typed into."""
        ...

    async def said(self, deed: Awaitable[object]) -> None:
        """Do something at the bench, and show why it was refused."""
        ...


class Door:
    """Takes the keys of a keyboard; whole lines become readings at the bench, and what is none is kept too."""

    def __init__(self, bench: Bench, clock: Clock, desk: Desk) -> None:
        self._bench = bench
        self._clock = clock
        self._desk = desk
        self._keys = Collector(clock)

    async def key(self, name: str, character: str | None) -> bool:
        """Take one key; True when it ends here, False when it goes on to whatever is under the door."""
        if name in ENDS:
            await self._all(self._keys.end())
        elif character is not None:
            await self._all(self._keys.add(character))
        elif name == "backspace":
            self._keys.erase()
        else:
            if self._desk.takes_text:
                self._keys.drop()  # what was typed belongs to the field that this key answers or leaves
            return False
        words = self._desk.takes_text
        self._desk.typing("" if words else safe_text(self._keys.text))
        return name in ENDS or not words

    async def tick(self) -> None:
        """Throw a half line away once its time is up."""
        await self._all(self._keys.expire())
        if not self._keys.text:
            self._desk.typing("")

    def drop(self) -> None:
        """Forget the line being typed."""
        self._keys.drop()
        self._desk.typing("")

    async def _all(self, pieces: Sequence[Cut]) -> None:
        for piece in pieces:
            await (self._half(piece) if isinstance(piece, Half) else self._line(piece))

    async def _half(self, piece: Half) -> None:
        if not self._desk.takes_text:
            await self._kept(piece.text, "the end of the line never came. Send it again.")

    async def _line(self, line: Line) -> None:
        text = line.text
        if not self._desk.takes_text and (deed := self._word(text)) is not None:
            await self._desk.said(deed)
            return
        try:
            reading = self._bench.read_line(text, self._clock.now(), line.gap_ms)
        except TypedError as refusal:
            if self._desk.takes_text:
                self._desk.tell("Enter and Tab do nothing here: answer with a function key.")
            else:
                await self._kept(text, str(refusal))
            return
        self._desk.untype(text)
        await self._desk.said(self._bench.arrive(reading))

    def _word(self, text: str) -> Awaitable[object] | None:
        """What a person says of the tools in hand, by a word that no tool types before a reading."""
        word, _, rest = text.strip().partition(" ")
        match word.lower():
            case "with":
                return self._bench.declare(rest)
            case "adapter":
                return self._adapter(rest)
            case _:
                return None

    async def _adapter(self, rest: str) -> object:
        step, adapter = adapter_in(rest)
        return await self._bench.adapter(step, adapter)

    async def _kept(self, text: str, reason: str) -> None:
        """Keep what is no reading, as it came, with the reason."""
        raw = text.encode("utf-8", "surrogatepass").hex()
        frame = Undecoded(TYPED, "", raw, f'"{safe_text(text, 40)}": {reason}', self._clock.now())
        await self._desk.said(self._bench.arrive(frame))
