"""Every command as data: its words, its options, and where its handler is.

Handlers are named by text and imported only when their command runs, so that no `--help` waits for the screen, the
radio, the models or the units. The rows are plain classes: `dataclasses` alone takes as long to import as Python to
start.
"""

from .options import (
    ADVISE,
    BY,
    FORCE,
    JOB,
    JOB_OR_NONE,
    JOBS,
    JSON,
    JUDGE,
    LISTEN,
    NO_RADIO,
    PLAIN,
    SHEET_HELP,
    SHOP,
    TOOL,
    TOOL_ADD,
    VOICE,
    Option,
    option,
    switch,
)


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


COMMANDS: tuple[Command, ...] = (
    Command(
        "demo",
        "Run a whole job on simulated tools, a simulated machine and a simulated mechanic.",
        "evenhand demo --auto --plain --seed 7",
        "tui.commands.demo:demo",
        (
            option("sheet", metavar="SHEET", nargs="?", default="courier-chain", help=f"{SHEET_HELP} (%(default)s)"),
            option("--seed", metavar="N", type=int, help="same number, same run (default: a new one, which is told)"),
            switch("--auto", "as fast as it can, instead of at a human pace"),
            PLAIN,
            VOICE,
        ),
    ),
    Command(
        "start",
        "Begin a job: readings come from tools in reach, typed, or both.",
        'evenhand start courier-chain --machine "Depot 7" --by Robin',
        "tui.commands.work:start",
        (
            option("sheet", metavar="SHEET", nargs="?", help=f"{SHEET_HELP} (default: asked on the screen)"),
            option("--machine", metavar="TEXT", help="what is being serviced (default: asked on the screen)"),
            option("--by", metavar="NAME", help="who does it (default: asked on the screen)"),
            option(
                "--tool",
                metavar="[STEP=]NAME",
                action="append",
                help="a tool of the toolbook that is used, where several would do, or for one step; may be given again",
            ),
            option(
                "--side-offset",
                metavar=("Q", "U", "HOW"),
                nargs=3,
                help="the machine's proven left minus right with the axle square, its standard uncertainty, "
                "and how it was proven; remembered for its next jobs, 0mm forgets it",
            ),
            PLAIN,
            VOICE,
            NO_RADIO,
        ),
    ),
    Command(
        "resume",
        "Take up an open job at the prompt where it was left.",
        "evenhand resume last --plain",
        "tui.commands.work:resume",
        (
            option("job", metavar="JOB", nargs="?", default="last", help="a job id such as j1 (default: the newest)"),
            BY,
            PLAIN,
            VOICE,
            NO_RADIO,
        ),
    ),
    Command(
        "jobs",
        "List the jobs on the trail, newest first.",
        "evenhand jobs --json",
        "tui.commands.shelf:jobs",
        JOBS,
    ),
    Command(
        "history",
        "Tell every job of one machine, how its chain wears over its mileage, and when its limit is met.",
        'evenhand history "Depot 7"',
        "tui.commands.machines:history",
        (option("machine", metavar="MACHINE", help="what is serviced, as the jobs name it"), JSON, SHOP),
    ),
    Command(
        "due",
        "Tell machines by what is due on them next, and tools by calibration.",
        "evenhand due",
        "tui.commands.machines:due",
        (JSON, SHOP),
    ),
    Command(
        "replay",
        "Look at a job again: on the screen as a timeline to be played and commented, or told line by line.",
        "evenhand replay last --plain",
        "tui.commands.replaying:replay",
        (
            JOB,
            PLAIN,
            option("--speed", metavar="N", help="N times as fast as it happened; 1 is as recorded (default: at once)"),
            switch("--step", "event by event: Enter goes on, q ends"),
            switch("--check", "compare each verdict and prompt with what was shown when it happened"),
            SHOP,
        ),
    ),
    Command(
        "record",
        "Hand on the record of a job.",
        "evenhand record last --format html --out depot-7.html",
        "tui.commands.shelf:record",
        (
            JOB_OR_NONE,
            option(
                "--format",
                choices=("json", "csv", "html"),
                default="json",
                help="form: html is a page to read and print (%(default)s)",
            ),
            option("--out", metavar="FILE", help="write it to a file instead of stdout"),
            switch("--schema", "print the JSON schema of a record instead"),
            FORCE,
            SHOP,
        ),
    ),
    Command(
        "rejudge",
        "Judge stored jobs by another sheet or decision rule, and tell what differs.",
        "evenhand rejudge last --decision guarded",
        "tui.commands.review:rejudge",
        (
            JOB_OR_NONE,
            switch("--all", "every job of the trail; with --sheet, those of that sheet"),
            option("--sheet", metavar="SHEET", help=SHEET_HELP),
            option("--decision", choices=("simple", "guarded"), help="decision rule instead of the sheet's"),
            switch("--json", "as JSON, every check with both verdicts"),
            SHOP,
        ),
    ),
    Command(
        "recall",
        "A tool was found to read wrong: correct its readings in every job it touched, and tell whom to call back.",
        'evenhand recall caliper-1 --since 2026-03-31 --error "+0.1 mm"',
        "tui.commands.review:recall",
        (
            option("tool", metavar="TOOL", help="the tool as the record names it"),
            option("--since", metavar="DATE", help="day of its last good calibration (default: the last one stated)"),
            option("--error", metavar="Q|P%", required=True, help="what it reads too much; negative is too little"),
            switch("--look", "only tell; without it each job's review is written on the trail"),
            switch("--json", "as JSON, each affected check with both verdicts"),
            SHOP,
        ),
    ),
    Command(
        "verify",
        "Check that the trail is what was written, and say what that shows and what it cannot.",
        "evenhand verify --against depot-7.json",
        "tui.commands.trail:verify",
        (
            option(
                "--against",
                metavar="RECORD|HEAD|shop",
                help="a JSON record, a head in words or as NUMBER:HASH, or shop for the collector's: shows a cut end "
                "and a rewrite",
            ),
            switch("--qr", "the head as a QR code too"),
            SHOP,
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
                (option("--out", metavar="FILE", help="where to (default: trail-backup.sqlite in the home folder)"),),
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
                (switch("--plain", "a line for each change, without a screen"),),
            ),
            Command(
                "show",
                "List what the collector keeps of each bench, its alarms and its parked events.",
                "evenhand shop show --json",
                "tui.commands.shop:show",
                (JSON,),
            ),
            Command(
                "send",
                "Send the shop what it does not have of this bench's trail.",
                "evenhand shop send --follow",
                "tui.commands.shop:send",
                (switch("--follow", "go on with what is added, until a signal ends it"),),
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
        ADVISE,
    ),
    Command(
        "judge",
        "Judge one reading against a window: verdict, margin, chance of being truly inside, acceptance zone.",
        "evenhand judge --window 90Nm 106Nm --value 93Nm --accuracy 2% --resolution 0.1Nm --decision guarded",
        "tui.commands.judge:judge",
        JUDGE,
    ),
    Command(
        "doctor",
        "Check Bluetooth, disk, clock, broker, toolbook and terminal; one line a finding, with its fix.",
        "evenhand doctor --json",
        "tui.commands.doctor:doctor",
        (JSON,),
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
                (option("name", metavar="NAME", help="name of a shipped sheet"),),
            ),
            Command(
                "check",
                "Check a sheet file: every problem is told with table, key and what is allowed.",
                "evenhand sheets check depot.toml",
                "tui.commands.sheets:check",
                (option("file", metavar="FILE", help="path of a sheet file"),),
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
                (LISTEN,),
            ),
            Command(
                "add",
                "Add a tool to the toolbook: one in reach, its display compared with the screen; or one without radio.",
                'evenhand tools add --by Robin --id caliper-1 --accuracy "0.03 mm" --due 2027-11-01',
                "tui.commands.toolbook:add",
                TOOL_ADD,
            ),
            Command(
                "list",
                "List the toolbook, with how each calibration stands today.",
                "evenhand tools list --json",
                "tui.commands.toollist:listed",
                (JSON,),
            ),
            Command(
                "retire",
                "Take a tool out of use; its entry is kept, with when, who and why.",
                'evenhand tools retire caliper-1 "dropped on the floor" --by Robin',
                "tui.commands.toolbook:retire",
                (
                    option("id", metavar="ID", help="its short name in the toolbook"),
                    option("why", metavar="WHY", nargs="+", help="why it is not used any more"),
                    option("--by", metavar="NAME", required=True, help="who takes it out of use"),
                ),
            ),
            Command(
                "watch",
                "Show what tools in reach send, decoded and as raw frames, one line each, until interrupted.",
                "evenhand tools watch --for 60 --json",
                "tui.commands.watch:watch",
                (
                    option("--for", metavar="N", dest="seconds", type=int, help="end after N seconds, 1 to 86400"),
                    switch("--json", "one JSON object a line"),
                ),
            ),
            Command(
                "learn",
                "Find out how an unknown tool speaks: live, asking what its display shows, or from captured frames.",
                "evenhand tools learn --from capture.jsonl --out my-caliper.toml",
                "tui.commands.learn:learn_from",
                (
                    option(
                        "--from",
                        metavar="CAPTURE",
                        dest="capture",
                        help="path of a capture (default: a tool in reach), one line a frame, such as "
                        '{"characteristic": "ffe1", "hex": "e10b", "shown": "30.41 mm"}; shown is null, or left out, '
                        "where the display was not read",
                    ),
                    TOOL,
                    LISTEN,
                    option("--keep", metavar="FILE", help="keep the frames heard live as a capture"),
                    option(
                        "--out",
                        metavar="FILE",
                        help="write the profile here (live default: among the profiles of the home)",
                    ),
                    option("--name", metavar="TEXT", help="what the tool advertises as its name, for the profile"),
                    FORCE,
                    JSON,
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
                            option("file", metavar="FILE", help="path of a profile"),
                            option("--payload", metavar="HEX", help="octets of one frame, in hexadecimal"),
                        ),
                    ),
                ),
            ),
        ),
    ),
)
