"""The options of the commands as data: those that several share, and the longer lists of single ones."""

from collections.abc import Mapping


class Option:
    """One argument of a command, as argparse takes it."""

    __slots__ = ("names", "settings")

    def __init__(self, names: tuple[str, ...], settings: Mapping[str, object]) -> None:
        self.names, self.settings = names, settings


def option(*names: str, **settings: object) -> Option:
    """Return an argument by its names and what argparse is told of it."""
    return Option(names, settings)


def switch(name: str, about: str) -> Option:
    """Return an option that takes no value."""
    return option(name, action="store_true", help=about)


PLAIN = switch("--plain", "line by line on stdin and stdout, without a screen")
VOICE = switch("--voice", "speak prompts, values, verdicts and advice; ring the bell where nothing can speak")
JSON = switch("--json", "as JSON")
BY = option("--by", metavar="NAME", help="who takes the job up (default: who opened it)")
SHOP = option(
    "--shop",
    metavar="BENCH",
    nargs="?",
    const="every bench",
    help="on what the shop keeps of this bench's trail (no name: of every bench's)",
)
JOB = option("job", metavar="JOB", help="a job id such as j1, or last")
JOB_OR_NONE = option("job", metavar="JOB", nargs="?", help="a job id such as j1, or last")
NO_RADIO = switch("--no-radio", "typed readings only")
FORCE = switch("--force", "let --out replace a file that is there")
QUANTITY = 'such as 36.2mm or "36.2 mm"'
SHEET_HELP = "name of a shipped sheet, or path of a sheet file"


def quantity(name: str, about: str, *, required: bool = False) -> Option:
    """Return an option that takes a number with its unit."""
    return option(name, metavar="Q", help=about, required=required)


def pair(name: str, about: str, *, required: bool = False) -> Option:
    """Return an option that takes the lowest and the highest of something, each with its unit."""
    return option(name, metavar="Q", nargs=2, help=about, required=required)


ADVISE = (
    option("--front-teeth", metavar="N", type=int, help="teeth of the front sprocket"),
    option("--rear-teeth", metavar="N", type=int, help="teeth of the rear sprocket"),
    quantity("--pitch", f"pitch of the chain, {QUANTITY}"),
    quantity("--centre", "distance from sprocket centre to sprocket centre"),
    quantity("--span", "free length of the measured run, where teeth, pitch and centre are unknown"),
    quantity("--thread", "how far one whole turn of an adjuster moves its side", required=True),
    option("--flats-per-turn", metavar="N", type=int, default=6, help="flats in one turn (%(default)s)"),
    quantity("--slack", "slack as read: the whole movement, taut down to taut up", required=True),
    quantity("--aim", "slack to go for; the middle of the axle is taken for the sprocket's line", required=True),
    pair("--window", "lowest and highest slack that pass, both included"),
    quantity("--left", "axle gauge reading on the left, seen from the saddle; needs --right"),
    quantity("--right", "axle gauge reading on the right; needs --left (neither: both sides are turned alike)"),
    option(
        "--grows",
        choices=("rearward", "forward"),
        help="where the axle is when a side's gauge reads more (rearward is assumed, and said so)",
    ),
    quantity("--agree-within", "how far left and right may differ"),
    option("--if-left", metavar="F", help="tell what these flats would give instead; positive tightens"),
    option("--if-right", metavar="F", help="flats of the right side, beside --if-left; 0 leaves it"),
    switch("--json", "as JSON, unrounded, in mm and flats; difference is left minus right, slack null if taut"),
)
JUDGE = (
    pair("--window", "lowest and highest value that pass, both included", required=True),
    quantity("--value", f"the reading, {QUANTITY}; its unit is that of the answer", required=True),
    option(
        "--accuracy",
        metavar="Q|P%",
        help="how far the tool may be off, as a quantity or a percentage of the reading (torque: of the true torque)",
    ),
    quantity("--resolution", "the step in which the tool counts"),
    quantity("--method-u", "standard uncertainty of hands and placement"),
    quantity("--u", "the whole standard uncertainty, instead of the three before"),
    option(
        "--decision",
        choices=("simple", "guarded"),
        help="rule near a limit (default: simple, or guarded where --guard is given)",
    ),
    quantity("--guard", "width of the guard band (default: U, twice the standard uncertainty)"),
    switch("--json", "as JSON, unrounded, in the unit of --value; acceptance null where nothing is left"),
)

LISTEN = option("--seconds", metavar="N", type=int, default=8, help="how long to listen, 1 to 600 (%(default)s)")
TOOL = option("--tool", metavar="TEXT", help="which device: its name or its address (default: asked)")
TOOL_ADD = (
    option("--by", metavar="NAME", required=True, help="who adds it"),
    option("--id", metavar="ID", help="short name for it (default: its kind and a number)"),
    TOOL,
    LISTEN,
    option("--kind", metavar="KIND", help="what it is, where its profile says otherwise"),
    option(
        "--yes", metavar="VALUE", help='what its display shows, such as "30.41 mm": compared without asking anything'
    ),
    option("--hand", metavar="KIND", help="enter a tool without a radio: caliper, rule, tape, setting wrench ..."),
    option("--serial", metavar="TEXT", help="its serial number, with --hand"),
    option("--profile", metavar="NAME", help="the profile that says how it types, with --hand, for a keyboard tool"),
    option("--accuracy", metavar="A", help='as plus or minus, such as "0.03 mm" or "4 %%"'),
    switch(
        "--of-reading", "an accuracy in %% of torque is of the reading, not of the true torque as ISO 6789-1 has it"
    ),
    option("--resolution", metavar="R", help='step of its display, such as "0.01 mm"'),
    option("--calibration-u", metavar="U", help="expanded uncertainty on its certificate"),
    option("--calibration-k", metavar="K", help="coverage factor of that (default: 2)"),
    option("--calibrated", metavar="DATE", help="day of its last calibration, YYYY-MM-DD"),
    option("--due", metavar="DATE", help="day its next calibration is due"),
    option("--certificate", metavar="TEXT", help="number of its certificate"),
)
JOBS = (
    option("--machine", metavar="TEXT", help="of this machine, or of those in whose name it is a part"),
    option("--sheet", metavar="ID", help="by this sheet"),
    option("--tool", metavar="TOOL", help="with a reading or a pull of this tool"),
    option("--by", metavar="NAME", help="that this person opened, took up, closed or let something pass in"),
    option("--since", metavar="DATE", help="opened on this day (UTC) or later"),
    option("--until", metavar="DATE", help="opened on this day (UTC) or earlier"),
    option("--verdict", metavar="WORD", help="with a check that stands so at the end"),
    switch("--overridden", "with an override that stands"),
    option("--last", metavar="N", type=int, help="the newest N (default: 100; all with --json)"),
    JSON,
    SHOP,
)
