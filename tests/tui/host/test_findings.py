"""Each thing the doctor looks at, by table: what it is called, how bad it is, and that there is a fix."""

import pytest

from tui.host import findings
from tui.host.findings import AdapterFact, Finding, HomeFact, Kill, TerminalFact

ON, OFF = AdapterFact("hci0", "00:00:5E:00:53:01", True), AdapterFact("hci1", "00:00:5E:00:53:02", False)
GIB = 1 << 30


def terminal(columns: int = 80, rows: int = 24, **environment: str) -> TerminalFact:
    return TerminalFact(True, columns, rows, environment)


@pytest.mark.parametrize(
    ("found", "level", "words"),
    [
        (findings.bus("ok", "unix:path=/x"), "fine", "unix:path=/x"),
        (findings.bus("no socket", "unix:path=/x"), "error", "no system bus at unix:path=/x"),
        (findings.bus("denied", "/x"), "error", "does not let this user"),
        (findings.bus("no service", "/x"), "error", "service does not run"),
        (findings.bus("silent", "/x"), "error", "does not answer"),
        (findings.bus("anything", "/x"), "error", "does not answer"),
        (findings.adapters(None), "warning", "cannot be asked"),
        (findings.adapters([]), "error", "no Bluetooth adapter"),
        (findings.adapters([OFF]), "error", "switched off: hci1 00:00:5E:00:53:02 off"),
        (findings.adapters([OFF, ON]), "fine", "hci0 00:00:5E:00:53:01 on"),
        (findings.adapters([OFF, ON], "00:00:5e:00:53:01"), "fine", "hci0 00:00:5E:00:53:01 on"),
        (findings.adapters([OFF, ON], OFF.address), "error", "switched off"),
        (findings.adapters([ON], OFF.address), "error", "of the settings, 00:00:5E:00:53:02, is not there: hci0"),
        (findings.rfkill([]), "fine", "No switch"),
        (findings.rfkill([Kill("hci0", False, False)]), "fine", "No switch"),
        (findings.rfkill([Kill("hci0", True, False)]), "error", "hci0 is blocked"),
        (findings.rfkill([Kill("hci0", True, True)]), "error", "A switch on the machine blocks hci0"),
        (findings.bluez(None), "warning", "not known"),
        (findings.bluez("command not found"), "warning", "not known"),
        (findings.bluez("bluetoothctl: 5.54"), "error", "BlueZ is 5.54; 5.55 is needed"),
        (findings.bluez("bluetoothctl: 5.55"), "fine", "5.55"),
        (findings.bluez("bluetoothctl: 5.9"), "error", "BlueZ is 5.9"),
        (findings.bluez("bluetoothctl: 6.1"), "fine", "6.1"),
        (findings.sqlite("3.39.4"), "warning", "3.39.4; the oldest"),
        (findings.sqlite("3.40.1"), "fine", "3.40.1"),
        (findings.sqlite("3.100.0"), "fine", "3.100.0"),
        (findings.home(HomeFact("/h", "Permission denied")), "error", "/h cannot be written: Permission denied"),
        (findings.home(HomeFact("/h", remote="nfs4", free=GIB)), "error", "/h lies on a nfs4 mount"),
        (findings.home(HomeFact("/h", free=GIB)), "fine", "/h can be written"),
        (findings.disk(HomeFact("/h")), "warning", "not known"),
        (findings.disk(HomeFact("/h", free=findings.LEAST_FREE - 1)), "error", "99 MiB are free"),
        (findings.disk(HomeFact("/h", free=findings.LEAST_FREE)), "warning", "100 MiB are free"),
        (findings.disk(HomeFact("/h", free=findings.LITTLE_FREE)), "fine", "500 MiB are free"),
        (findings.clock(True), "fine", "synchronised"),
        (findings.clock(False), "warning", "not synchronised"),
        (findings.clock(None), "warning", "not known"),
        (findings.broker(False, "", ""), "fine", "shares nothing"),
        (findings.broker(False, "", "settings.toml is no TOML."), "error", "is no TOML"),
        (findings.broker(True, "h:1", "Connection refused"), "warning", "h:1 is not reached: Connection refused"),
        (findings.broker(True, "h:1", ""), "fine", "h:1 is reached"),
        (findings.toolbook("It is not TOML.", (), 0), "error", "It is not TOML"),
        (findings.toolbook("", ["jaws", "lever"], 3), "warning", "overdue: jaws, lever"),
        (findings.toolbook("", [], 3), "fine", "3"),
        (findings.size(TerminalFact(False)), "fine", "no terminal"),
        (findings.size(terminal(39, 24)), "warning", "39 columns and 24 rows"),
        (findings.size(terminal(40, 11)), "warning", "40 columns and 11 rows"),
        (findings.size(terminal(40, 12)), "fine", "40 columns and 12 rows"),
        (findings.colours(TerminalFact(False)), "fine", "no colours"),
        (findings.colours(terminal()), "warning", "TERM is not set"),
        (findings.colours(terminal(TERM="dumb")), "warning", "TERM is dumb"),
        (findings.colours(terminal(TERM="xterm", NO_COLOR="1")), "fine", "NO_COLOR"),
        (findings.colours(terminal(TERM="xterm", COLORTERM="truecolor")), "fine", "24 bits"),
        (findings.colours(terminal(TERM="xterm-256color")), "fine", "256"),
        (findings.colours(terminal(TERM="linux")), "fine", "few"),
        (findings.encoding(TerminalFact(False)), "fine", "UTF-8"),
        (findings.encoding(terminal(LANG="C.UTF-8")), "fine", "C.UTF-8"),
        (findings.encoding(terminal(LANG="C.UTF-8", LC_ALL="C")), "warning", "locale C does not say"),
        (findings.encoding(terminal(LC_CTYPE="de_DE.utf8", LANG="C")), "fine", "de_DE.utf8"),
        (findings.encoding(terminal()), "warning", "(none)"),
    ],
)
def test_each_finding(found: Finding, level: str, words: str) -> None:
    assert (found.level, bool(found.fix)) == (level, level != "fine")
    assert words in found.said
    assert found.said.endswith(".")
    assert "\n" not in found.said + found.fix


def test_the_worst_is_told() -> None:
    fine, warning, error = (Finding("x", level, "") for level in findings.LEVELS)
    assert findings.worst([]) == findings.worst([fine]) == "fine"
    assert findings.worst([warning, fine]) == "warning"
    assert findings.worst([fine, error, warning]) == "error"
