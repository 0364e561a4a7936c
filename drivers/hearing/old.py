"""Which readings come from a tool's memory, by the rule of its profile: decided purely.

An old reading is offered with its flag and never answers a prompt: nobody can tell what it was measured at.
"""

from drivers.profile.backlog import Backlog


def is_old(rule: Backlog, payload: bytes, since_ready_ns: int | None, since_old_ns: int | None) -> bool:
    """Say whether a reading is from a tool's memory.

    `since_ready_ns` is None for what came before the tool was told to be ready: nobody could have answered a prompt
    with it. `since_old_ns` is None where no reading of this link was old.
    """
    if rule.stored is not None:
        return rule.stored.hold(payload)
    if not rule.kept:
        return False
    if since_ready_ns is None or since_ready_ns < rule.settle_ms * 1_000_000:
        return True
    return since_old_ns is not None and since_old_ns < rule.press_ms * 1_000_000
