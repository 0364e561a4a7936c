"""The job screen: what to do now, the value in sight, checks and tools, what happened last, and the keys."""

from collections.abc import Mapping
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.screen import Screen

from drivers.reading import ToolState
from logger.bench.moment import Moment
from logger.job.rules import standing
from tui.entry.actions import ALL, LEAVE, MORE, Action, main_action, offered
from tui.glance.glance import Advice, Live, Slot, glance
from tui.lines import cautions
from tui.widgets.checks import Checks, Tools
from tui.widgets.foot import Banner, Keys, Said
from tui.widgets.how import How
from tui.widgets.top import Head, TooSmall, TopBar
from tui.widgets.value import Sight


class JobScreen(Screen[None]):
    """Draws moments; every key is an action of the app."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(action.key, f"app.{action.name}", action.label, show=False) for action in ALL if action is not LEAVE),
        Binding("escape", "app.dismiss_banner", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding(MORE.key, MORE.name, show=False),
    ]
    AUTO_FOCUS = ""
    takes_text = False

    def __init__(self) -> None:
        super().__init__()
        self.how: tuple[str, ...] = ()
        self._top, self._banner, self._head, self._how = TopBar(), Banner(), Head(), How()
        self._sight, self._checks, self._tools = Sight(), Checks(), Tools()
        self._said, self._keys = Said(), Keys(more=MORE)

    def compose(self) -> ComposeResult:
        """Lay the screen out, from what matters most down."""
        yield TooSmall()
        yield self._top
        yield self._banner
        yield self._head
        yield self._how
        with Container(id="work"):
            yield self._sight
            with Vertical(id="lists"):
                yield self._checks
                yield self._tools
        yield self._said
        yield self._keys

    def show(
        self, moment: Moment, slot: Slot | None, demo: tuple[Action, ...] = (), state: str = "", *, pedal: bool = False
    ) -> None:
        """Draw one moment; `demo` are the keys of a demo, `state` how it stands; `pedal`: a tool is read by one."""
        look = glance(moment, slot)
        self._top.show(moment.job, state)
        self._head.show(look.small, look.big)
        self.how = look.how
        self._how.show(look.how)
        self._sight.show(look.shown, _standing(moment))
        self._checks.show(look.rows)
        actions = offered(moment, pedal=pedal)
        self._keys.show((*actions[:-1], *demo, actions[-1]), main_action(moment))
        self.set_class(look.shown is None, "-words")
        self.set_class(isinstance(look.shown, Advice), "-advice")

    def happened(self, text: str, *, alarm: bool = False) -> None:
        """Show what happened last, where there is something to say."""
        if text:
            self._said.happened(text, alarm=alarm)

    def tools(self, states: Mapping[str, ToolState], typed: tuple[tuple[str, str], ...] = ()) -> None:
        """Draw the tools, and those that typed readings are of."""
        self._tools.show(states, typed)

    def pull(self, live: Live | None) -> None:
        """Draw a pull in progress."""
        self._sight.pull(live)

    def tell(self, text: str) -> None:
        """Show a refusal or a hint."""
        self._said.tell(text)

    def typing(self, text: str) -> None:
        """Show the line being typed."""
        self._said.typing(text)

    def warn(self, text: str) -> None:
        """Show a fault, behind those that nobody took away yet."""
        self._banner.warn(text)

    def unwarn(self) -> None:
        """Take the first fault away."""
        self._banner.unwarn()

    def untype(self, text: str) -> None:
        """Nothing to do: no field is on this screen."""

    def read_on(self) -> bool:
        """Show the next page of what was not in sight yet; whether there was one."""
        unseen = self._how.unseen
        if unseen:
            self._how.page(1)
        return unseen

    @property
    def read_to(self) -> int:
        """How far the instructions were in sight so far."""
        return self._how.read_to

    def on_screen_resume(self) -> None:
        """Note that what is asked comes into sight."""
        self.app.in_sight()  # type: ignore[attr-defined]

    def action_more_keys(self) -> None:
        """Show the keys that did not fit."""
        self._keys.turn()

    def action_page(self, pages: int) -> None:
        """Show the instructions that did not fit."""
        self._how.page(pages)
        self._sight.page(pages)
        self.app.in_sight()  # type: ignore[attr-defined]


def _standing(moment: Moment) -> tuple[str, ...]:
    """What stands where no value is in sight: how the job stands, the cautions of its sheet, and the kit."""
    return (standing([judged.verdict for judged in moment.verdicts.values()], " checks"), *cautions(moment))
