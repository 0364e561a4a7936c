"""A reviewer's comment or sign-off on a stored job: an event after all others, which changes nothing of the job."""

from collections.abc import Sequence

from drivers.reading import Clock
from logger import events as ev
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.prompt import next_prompt
from logger.settings.settings import Home
from logger.trail.keys import bench_key
from logger.trail.seal import Seal
from logger.trail.trail import Trail

from .decide import MOST_NAME, MOST_TEXT
from .envelope import envelope, store


def commented(records: Sequence[ev.Record], at: int, name: str, text: str, *, signs: bool) -> ev.Commented:
    """Return the event of a comment on event number `at`; BadInput without a name, without words, or on no event."""
    if not any(record.seq == at for record in records):
        raise BadInput(f"Number {at} is no event of this job.", "Comment on one that is.")
    if not _can_be_kept(name, MOST_NAME):
        raise BadInput("The comment has no name.", f"Give yours, in at most {MOST_NAME} characters that can be shown.")
    if not _can_be_kept(text, MOST_TEXT):
        raise BadInput("The comment says nothing.", f"Write it in at most {MOST_TEXT} characters that can be shown.")
    return ev.Commented(at=at, name=name.strip(), text=text.strip(), signs=signs)


def _can_be_kept(text: str, most: int) -> bool:
    return bool(text.strip()) and len(text) <= most and text.isprintable()


async def add_comment(home: Home, clock: Clock, job: Job, event: ev.Commented) -> ev.Record:
    """Append a comment to the trail of a home and return it as stored; raises what opening and writing a trail raise.

    TrailBusy while a job is played there. The head is signed with it, as with all that ends something.
    """
    with Trail.open(home.trail, seal=lambda: Seal(bench_key(home.key))) as trail:
        shown = ev.Shown(prompt=next_prompt(job).key)  # a comment changes nothing that is asked for
        return await store(trail, envelope(clock, job.id, trail.head.seq + 1, event, shown))
