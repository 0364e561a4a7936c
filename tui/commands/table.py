"""Every command as data: its words, its options, and where its handler is.

Handlers are named by text and imported only when their command runs, so that no `--help` waits for the screen, the
radio, the models or the units. The rows are plain classes: `dataclasses` alone takes as long to import as Python to
start.
"""

from collections.abc import Mapping


class Option:
    """One argument of a command, as argparse takes it."""

    __slots__ = ("names", "settings")

    def __init__(self, names: tuple[str, ...], settings: Mapping[str, object]) -> None:
        self.names, self.settings = names, settings


class Command:
    """A command, or a family of them when it has `children`; `run` is the `module:function` of its handler."""

    __slots__ = ("about", "children", "example", "name", "options", "run")

    def __init__(  # noqa: PLR0917  (a row reads better without a name before each word)
        self,
        name: str,
        about: str,
        example: str,
        run: str = "",
        options: tuple[Option, ...] = (),
        children: tuple["Command", ...] = (),
    ) -> None:
        self.name, self.about, self.example, self.run = name, about, example, run
        self.options, self.children = options, children


def _option(*names: str, **settings: object) -> Option:
    return Option(names, settings)


def _switch(name: str, about: str) -> Option:
    return _option(name, action="store_true", help=about)


_PLAIN = _switch("--plain", "line by line on stdin and stdout, without a screen")
_VOICE = _switch("--voice", "speak prompts, values, verdicts and advice; ring the bell where nothing can speak")
_JSON = _switch("--json", "as JSON")
_BY = _option("--by", metavar="NAME", help="who takes the job up (default: who opened it)")
_SHOP = _option(
    "--shop",
    metavar="BENCH",
    nargs="?",
    const="every bench",
    help="on what the shop keeps of this bench's trail (no name: of every bench's)",
)
_JOB = _option("job", metavar="JOB", help="a job id such as j1, or last")
_QUANTITY = 'such as 36.2mm or "36.2 mm"'
_SHEET_HELP = "name of a shipped sheet, or path of a sheet file"


def _quantity(name: str, about: str, *, required: bool = False) -> Option:
    return _option(name, metavar="Q", help=about, required=required)


def _pair(name: str, about: str, *, required: bool = False) -> Option:
    return _option(name, metavar="Q", nargs=2, help=about, required=required)


_ADVISE = (
    _option("--front-teeth", metavar="N", type=int, help="teeth of the front sprocket"),
    _option("--rear-teeth", metavar="N", type=int, help="teeth of the rear sprocket"),
    _quantity("--pitch", f"pitch of the chain, {_QUANTITY}"),
    _quantity("--centre", "distance from sprocket centre to sprocket centre"),
    _quantity("--span", "free length of the measured run, where teeth, pitch and centre are unknown"),
    _quantity("--thread", "how far one whole turn of an adjuster moves its side", required=True),
    _option("--flats-per-turn", metavar="N", type=int, default=6, help="flats in one turn (%(default)s)"),
    _quantity("--slack", "slack as read: the whole movement, taut down to taut up", required=True),
    _quantity("--aim", "slack to go for", required=True),
    _pair("--window", "lowest and highest slack that pass, both included"),
    _quantity("--left", "axle gauge reading on the left, seen from the saddle; needs --right"),
    _quantity("--right", "axle gauge reading on the right; needs --left (neither: both sides are turned alike)"),
    _option(
        "--grows",
        choices=("rearward", "forward"),
        default="rearward",
        help="where the axle is when a side's gauge reads more (%(default)s)",
    ),
    _quantity("--agree-within", "how far left and right may differ"),
    _option("--if-left", metavar="F", help="tell what these flats would give instead; positive tightens"),
    _option("--if-right", metavar="F", help="flats of the right side, beside --if-left; 0 leaves it"),
    _switch("--json", "as JSON, unrounded, in mm and flats; difference is left minus right, slack null if taut"),
)
_JUDGE = (
    _pair("--window", "lowest and highest value that pass, both included", required=True),
    _quantity("--value", f"the reading, {_QUANTITY}; its unit is that of the answer", required=True),
    _option(
        "--accuracy",
        metavar="Q|P%",
        help="how far the tool may be off, as a quantity or a percentage of the reading (torque: of the true torque)",
    ),
    _quantity("--resolution", "the step in which the tool counts"),
    _quantity("--method-u", "standard uncertainty of hands and placement"),
    _quantity("--u", "the whole standard uncertainty, instead of the three before"),
    _option(
        "--decision",
        choices=("simple", "guarded"),
        help="rule near a limit (default: simple, or guarded where --guard is given)",
    ),
    _quantity("--guard", "width of the guard band (default: U, twice the standard uncertainty)"),
    _switch("--json", "as JSON, unrounded, in the unit of --value; acceptance null where nothing is left"),
)

_LISTEN = _option("--seconds", metavar="N", type=int, default=8, help="how long to listen, 1 to 600 (%(default)s)")
_TOOL = _option("--tool", metavar="TEXT", help="which device: its name or its address (default: asked)")
_TOOL_ADD = (
    _option("--by", metavar="NAME", required=True, help="who adds it"),
    _option("--id", metavar="ID", help="short name for it (default: its kind and a number)"),
    _TOOL,
    _LISTEN,
    _option("--kind", metavar="KIND", help="what it is, where its profile says otherwise"),
    _option(
        "--yes", metavar="VALUE", help='what its display shows, such as "30.41 mm": compared without asking anything'
    ),
    _option("--hand", metavar="KIND", help="enter a tool without a radio: caliper, rule, tape, setting wrench ..."),
    _option("--serial", metavar="TEXT", help="its serial number, with --hand"),
    _option("--profile", metavar="NAME", help="the profile that says how it types, with --hand, for a keyboard tool"),
    _option("--accuracy", metavar="A", help='as plus or minus, such as "0.03 mm" or "4 %%"'),
    _switch(
        "--of-reading", "an accuracy in %% of torque is of the reading, not of the true torque as ISO 6789-1 has it"
    ),
    _option("--resolution", metavar="R", help='step of its display, such as "0.01 mm"'),
    _option("--calibration-u", metavar="U", help="expanded uncertainty on its certificate"),
    _option("--calibration-k", metavar="K", help="coverage factor of that (default: 2)"),
    _option("--calibrated", metavar="DATE", help="day of its last calibration, YYYY-MM-DD"),
    _option("--due", metavar="DATE", help="day its next calibration is due"),
    _option("--certificate", metavar="TEXT", help="number of its certificate"),
)

COMMANDS: tuple[Command, ...] = (
    Command(
        "demo",
        "Run a whole job on simulated tools, a simulated machine and a simulated mechanic.",
        "evenhand demo --auto --plain --seed 7",
        "tui.commands.demo:demo",
        (
            _option("sheet", metavar="SHEET", nargs="?", default="courier-chain", help=f"{_SHEET_HELP} (%(default)s)"),
            _option("--seed", metavar="N", type=int, help="same number, same run (default: a new one, which is told)"),
            _switch("--auto", "as fast as it can, instead of at a human pace"),
            _PLAIN,
            _VOICE,
        ),
    ),
    Command(
        "start",
        "Begin a job: readings come from tools in reach, typed, or both.",
        'evenhand start courier-chain --machine "Depot 7" --by Robin',
        "tui.commands.work:start",
        (
            _option("sheet", metavar="SHEET", nargs="?", help=f"{_SHEET_HELP} (default: asked on the screen)"),
            _option("--machine", metavar="TEXT", help="what is being serviced (default: asked on the screen)"),
            _option("--by", metavar="NAME", help="who does it (default: asked on the screen)"),
            _option(
                "--tool",
                metavar="[STEP=]NAME",
                action="append",
                help="a tool of the toolbook that is used, where several would do, or for one step; may be given again",
            ),
            Option(
                ("--side-offset",),
                {
                    "nargs": 3,
                    "metavar": ("Q", "U", "HOW"),
                    "help": "the machine's proven left minus right with the axle square, its standard uncertainty, "
                    "and how it was proven; remembered for its next jobs, 0mm forgets it",
                },
            ),
            _PLAIN,
            _VOICE,
            _switch("--no-radio", "typed readings only"),
        ),
    ),
    Command(
        "resume",
        "Take up an open job at the prompt where it was left.",
        "evenhand resume last --plain",
        "tui.commands.work:resume",
        (
            _option("job", metavar="JOB", nargs="?", default="last", help="a job id such as j1 (default: the newest)"),
            _BY,
            _PLAIN,
            _VOICE,
            _switch("--no-radio", "typed readings only"),
        ),
    ),
    Command(
        "jobs",
        "List the jobs on the trail, newest first.",
        "evenhand jobs --json",
        "tui.commands.shelf:jobs",
        (
            _option("--machine", metavar="TEXT", help="of this machine, or of those in whose name it is a part"),
            _option("--sheet", metavar="ID", help="by this sheet"),
            _option("--tool", metavar="TOOL", help="with a reading or a pull of this tool"),
            _option("--by", metavar="NAME", help="that this person opened, took up, closed or let something pass in"),
            _option("--since", metavar="DATE", help="opened on this day (UTC) or later"),
            _option("--until", metavar="DATE", help="opened on this day (UTC) or earlier"),
            _option("--verdict", metavar="WORD", help="with a check that stands so at the end"),
            _switch("--overridden", "with an override that stands"),
            _option("--last", metavar="N", type=int, help="the newest N (default: 100; all with --json)"),
            _JSON,
            _SHOP,
        ),
    ),
    Command(
        "history",
        "Tell every job of one machine, how its chain wears over its mileage, and when its limit is met.",
        'evenhand history "Depot 7"',
        "tui.commands.machines:history",
        (_option("machine", metavar="MACHINE", help="what is serviced, as the jobs name it"), _JSON, _SHOP),
    ),
    Command(
        "due",
        "Tell machines by what is due on them next, and tools by calibration.",
        "evenhand due",
        "tui.commands.machines:due",
        (_JSON, _SHOP),
    ),
    Command(
        "replay",
        "Look at a job again: on the screen as a timeline to be played and commented, or told line by line.",
        "evenhand replay last --plain",
        "tui.commands.replaying:replay",
        (
            _JOB,
            _PLAIN,
            _option("--speed", metavar="N", help="N times as fast as it happened; 1 is as recorded (default: at once)"),
            _switch("--step", "event by event: Enter goes on, q ends"),
            _switch("--check", "compare each verdict and prompt with what was shown when it happened"),
            _SHOP,
        ),
    ),
    Command(
        "record",
        "Hand on the record of a job.",
        "evenhand record last --format html --out depot-7.html",
        "tui.commands.shelf:record",
        (
            _option("job", metavar="JOB", nargs="?", help="a job id such as j1, or last"),
            _option(
                "--format",
                choices=("json", "csv", "html"),
                default="json",
                help="form: html is a page to read and print (%(default)s)",
            ),
            _option("--out", metavar="FILE", help="write it to a file instead of stdout"),
            _switch("--schema", "print the JSON schema of a record instead"),
            _switch("--force", "let --out replace a file that is there"),
            _SHOP,
        ),
    ),
    Command(
        "rejudge",
        "Judge stored jobs by another sheet or decision rule, and tell what differs.",
        "evenhand rejudge last --decision guarded",
        "tui.commands.review:rejudge",
        (
            _option("job", metavar="JOB", nargs="?", help='job id as shown by jobs, or "last"'),
            _switch("--all", "every job of the trail; with --sheet, those of that sheet"),
            _option("--sheet", metavar="SHEET", help=_SHEET_HELP),
            _option("--decision", choices=("simple", "guarded"), help="decision rule instead of the sheet's"),
            _switch("--json", "as JSON, every check with both verdicts"),
            _SHOP,
        ),
    ),
    Command(
        "recall",
        "A tool was found to read wrong: correct its readings in every job it touched, and tell whom to call back.",
        'evenhand recall TW-1 --since 2026-03-31 --error "+3 %"',
        "tui.commands.review:recall",
        (
            _option("tool", metavar="TOOL", help="the tool as the record names it"),
            _option("--since", metavar="DATE", help="day of its last good calibration (default: the last one stated)"),
            _option("--error", metavar="Q|P%", required=True, help="what it reads too much; negative is too little"),
            _switch("--look", "only tell; without it each job's review is written on the trail"),
            _switch("--json", "as JSON, each affected check with both verdicts"),
            _SHOP,
        ),
    ),
    Command(
        "verify",
        "Check that the trail is what was written, and say what that shows and what it cannot.",
        "evenhand verify --against depot-7.json",
        "tui.commands.trail:verify",
        (
            _option(
                "--against",
                metavar="RECORD|HEAD|shop",
                help="a JSON record, a head in words or as NUMBER:HASH, or shop for the collector's: shows a cut end "
                "and a rewrite",
            ),
            _switch("--qr", "the head as a QR code too"),
            _SHOP,
        ),
    ),
    Command(
        "trail",
        "Look after the trail.",
        "evenhand trail backup --out /media/stick/depot.sqlite",
        children=(
            Command(
                "backup",
                "Copy the trail into one file, checked before and after; a good copy is never replaced by a worse one.",
                "evenhand trail backup --out /media/stick/depot.sqlite",
                "tui.commands.trail:backup",
                (_option("--out", metavar="FILE", help="where to (default: trail-backup.sqlite in the home folder)"),),
            ),
        ),
    ),
    Command(
        "collect",
        "Collect the trails of a shop's benches from its broker into one store, until a signal ends it.",
        "evenhand collect --home /srv/evenhand",
        "tui.commands.shop:collect",
    ),
    Command(
        "shop",
        "Look at all benches of a shop, and share this one's trail.",
        "evenhand shop watch",
        children=(
            Command(
                "watch",
                "Show all benches live: who, machine, prompt, last verdict, open overrides.",
                "evenhand shop watch --plain",
                "tui.commands.shop:watch",
                (_switch("--plain", "a line for each change, without a screen"),),
            ),
            Command(
                "show",
                "List what the collector keeps of each bench, its alarms and its parked events.",
                "evenhand shop show --json",
                "tui.commands.shop:show",
                (_JSON,),
            ),
            Command(
                "send",
                "Send the shop what it does not have of this bench's trail.",
                "evenhand shop send --follow",
                "tui.commands.shop:send",
                (_switch("--follow", "go on with what is added, until a signal ends it"),),
            ),
            Command("acl", "Print the access list for the broker.", "evenhand shop acl", "tui.commands.shop:acl"),
            Command(
                "schema",
                "Print the JSON schema of what goes over the wire.",
                "evenhand shop schema",
                "tui.commands.shop:wire",
            ),
        ),
    ),
    Command(
        "advise",
        "Work out how far to turn each adjuster and what to expect after it, without a job or a trail.",
        "evenhand advise --front-teeth 17 --rear-teeth 42 --pitch 15.875mm --centre 650mm --thread 1.25mm "
        "--slack 40mm --aim 32mm --window 25mm 40mm --left 36.2mm --right 36.6mm --agree-within 0.5mm",
        "tui.commands.advise:advise",
        _ADVISE,
    ),
    Command(
        "judge",
        "Judge one reading against a window: verdict, margin, chance of being truly inside, acceptance zone.",
        "evenhand judge --window 90Nm 106Nm --value 93Nm --accuracy 2% --resolution 0.1Nm --decision guarded",
        "tui.commands.judge:judge",
        _JUDGE,
    ),
    Command(
        "doctor",
        "Check Bluetooth, disk, clock, broker, toolbook and terminal; one line a finding, with its fix.",
        "evenhand doctor --json",
        "tui.commands.doctor:doctor",
        (_JSON,),
    ),
    Command(
        "sheets",
        "Look at job sheets.",
        "evenhand sheets list",
        children=(
            Command("list", "List the shipped sheets.", "evenhand sheets list", "tui.commands.sheets:names"),
            Command(
                "show",
                "Print a shipped sheet, to be copied and changed.",
                "evenhand sheets show courier-chain > depot.toml",
                "tui.commands.sheets:show",
                (_option("name", metavar="NAME", help="name of a shipped sheet"),),
            ),
            Command(
                "check",
                "Check a sheet file: every problem is told with table, key and what is allowed.",
                "evenhand sheets check depot.toml",
                "tui.commands.sheets:check",
                (_option("file", metavar="FILE", help="path of a sheet file"),),
            ),
        ),
    ),
    Command(
        "tools",
        "Look for tools, keep the toolbook, and learn how a tool speaks.",
        "evenhand tools scan --seconds 8",
        children=(
            Command(
                "scan",
                "Listen for Bluetooth Low Energy tools and list what was heard, strongest first.",
                "evenhand tools scan --seconds 8",
                "tui.commands.tools:listen",
                (_LISTEN,),
            ),
            Command(
                "add",
                "Add a tool to the toolbook: one in reach, its display compared with the screen; or one without radio.",
                'evenhand tools add --by Robin --id caliper-1 --accuracy "0.03 mm" --due 2027-11-01',
                "tui.commands.toolbook:add",
                _TOOL_ADD,
            ),
            Command(
                "list",
                "List the toolbook, with how each calibration stands today.",
                "evenhand tools list --json",
                "tui.commands.toolbook:listed",
                (_JSON,),
            ),
            Command(
                "retire",
                "Take a tool out of use; its entry is kept, with when, who and why.",
                'evenhand tools retire caliper-1 "dropped on the floor" --by Robin',
                "tui.commands.toolbook:retire",
                (
                    _option("id", metavar="ID", help="its short name in the toolbook"),
                    _option("why", metavar="WHY", nargs="+", help="why it is not used any more"),
                    _option("--by", metavar="NAME", required=True, help="who takes it out of use"),
                ),
            ),
            Command(
                "watch",
                "Show what tools in reach send, decoded and as raw frames, one line each, until interrupted.",
                "evenhand tools watch --for 60 --json",
                "tui.commands.watch:watch",
                (
                    _option("--for", metavar="N", dest="seconds", type=int, help="end after N seconds, 1 to 86400"),
                    _switch("--json", "one JSON object a line"),
                ),
            ),
            Command(
                "learn",
                "Find out how an unknown tool speaks: live, asking what its display shows, or from captured frames.",
                "evenhand tools learn --from capture.jsonl --out my-caliper.toml",
                "tui.commands.learn:learn_from",
                (
                    _option(
                        "--from",
                        metavar="CAPTURE",
                        dest="capture",
                        help="path of a capture (default: a tool in reach), one line a frame, such as "
                        '{"characteristic": "ffe1", "hex": "e10b", "shown": "30.41 mm"}; shown is null, or left out, '
                        "where the display was not read",
                    ),
                    _TOOL,
                    _LISTEN,
                    _option("--keep", metavar="FILE", help="keep the frames heard live as a capture"),
                    _option(
                        "--out",
                        metavar="FILE",
                        help="write the profile here (live default: among the profiles of the home)",
                    ),
                    _option("--name", metavar="TEXT", help="what the tool advertises as its name, for the profile"),
                    _switch("--force", "let --out replace a file that is there"),
                    _JSON,
                ),
            ),
            Command(
                "profile",
                "Look at profiles of tools.",
                "evenhand tools profile check my-caliper.toml",
                children=(
                    Command(
                        "check",
                        "Check a profile by its own test vectors, or show what it reads in a payload.",
                        "evenhand tools profile check my-caliper.toml --payload e10b",
                        "tui.commands.learn:check",
                        (
                            _option("file", metavar="FILE", help="path of a profile"),
                            _option("--payload", metavar="HEX", help="octets of one frame, in hexadecimal"),
                        ),
                    ),
                ),
            ),
        ),
    ),
)
