"""`collect` and `shop ...`: a shop's collector, and what it keeps; a bench's outbox by hand."""

import argparse
import asyncio
import json
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

from logger.collector.collector import Collector
from logger.collector.read import Kept, Shelf, anchor_of, copied, is_store
from logger.collector.store import Store
from logger.collector.tables import open_database
from logger.errors import BadInput, NothingToTalkTo, TrailDamaged
from logger.settings.file import ShopSettings, load_settings
from logger.settings.settings import Home
from logger.shop.ask import acknowledged
from logger.shop.outbox import Status
from logger.shop.outboxtrail import TrailSource
from logger.shop.secretstore import store_url_of
from logger.shop.setup import broker_as, outbox_of, shop_of
from logger.shop.topics import BenchTopics, access_list
from logger.shop.wire import schema
from logger.trail.anchor import Anchor
from tui.asjson import as_json
from tui.exits import Exit
from tui.session.ending import until_signal
from tui.shell import Shell

EVERY = "every bench"
"""What `--shop` means where no bench is named."""


def store_of(home: Home, shop: ShopSettings) -> str:
    """Return where the collector keeps what it took."""
    return store_url_of(home.folder, shop).get_secret_value() or shop.store or str(home.folder / "shop.sqlite")


def collect(shell: Shell, _: argparse.Namespace) -> int:
    """Collect until a signal ends it."""
    home = shell.home
    shop = shop_of(home)
    engine = open_database(store_of(home, shop))
    broker = broker_as(home, shop, f"{shop.name}-collector", "collector")
    store = Store(engine, shop.name, lambda: f"{datetime.now(tz=UTC):%Y-%m-%dT%H:%M:%S.%fZ}")
    try:
        return until_signal(Collector(shop.name, broker, store, told=shell.say).run())
    finally:
        engine.dispose()


def send(shell: Shell, args: argparse.Namespace) -> int:
    """Send what the shop does not have yet; with --follow go on with what is added."""
    return until_signal(_send(shell, follow=args.follow))


async def _send(shell: Shell, *, follow: bool) -> int:
    ended: asyncio.Future[Status] = asyncio.get_running_loop().create_future()

    def told(status: Status) -> None:
        if follow:
            shell.say(_told(status))
        elif status.standing in ("away", "conflict", "doubled", "level") and not ended.done():
            ended.set_result(status)

    outbox = outbox_of(shell.home, told)
    if follow:
        await outbox.run()
        return _code(outbox.status)
    async with asyncio.TaskGroup() as group:
        task = group.create_task(outbox.run())
        status = await ended
        task.cancel()
    shell.say(_told(status))
    return _code(status)


def _told(status: Status) -> str:
    words = {
        "away": "No broker now.",
        "waiting": "The broker is there, but no collector.",
        "sending": f"{status.owed} events are on their way.",
        "level": "The shop has every event." if not status.owed else "The shop goes on without some events.",
        "conflict": "Nothing more is sent.",
        "doubled": "Nothing more is sent.",
    }
    return f"{words[status.standing]} {status.said}".rstrip()


def _code(status: Status) -> int:
    if status.standing == "conflict":
        raise TrailDamaged(f"Nothing more is sent: {status.said}.", "Compare the trail with the shop's copy.")
    if status.standing == "doubled":
        raise BadInput(status.said, "Name this bench in settings.toml, [shop] bench.")
    if status.standing == "away":
        raise NothingToTalkTo(status.said or "There is no broker.", "Start it, or look at [shop] in settings.toml.")
    return Exit.DONE


# --- what the collector keeps ---------------------------------------------------------------------------------------


def shelf_of(home: Home) -> Shelf:
    """Open the collector's store of this home to read; BadInput when there is none."""
    return Shelf(store_of(home, load_settings(home.folder).shop))


def kept_head(home: Home) -> Anchor:
    """Return the head that the shop keeps of this home's trail; BadInput when it keeps none of it.

    Where its store is not on this machine, it is what the collector acknowledged last, as the broker holds it.
    """
    settings = load_settings(home.folder)
    store = store_of(home, settings.shop)
    if is_store(store) or "shop" not in settings.model_fields_set:
        return _kept_head(home, Shelf(store))
    shop = settings.shop
    broker = broker_as(home, shop, f"{shop.bench}-asks-{time.time_ns() % 10**9}", shop.bench)
    return asyncio.run(acknowledged(broker, BenchTopics(shop.name, shop.bench)))


def _kept_head(home: Home, shelf: Shelf) -> Anchor:
    try:
        found = anchor_of(shelf, TrailSource(home.trail).trail)
    finally:
        shelf.close()
    if found is None:
        raise BadInput("The shop keeps nothing of this trail.", "Send it first with: evenhand shop send")
    return found


def show(shell: Shell, args: argparse.Namespace) -> int:
    """List how far each trail is kept, and what needs a person."""
    shelf = shelf_of(shell.home)
    try:
        kept, alarms = shelf.kept(), shelf.alarms()
    finally:
        shelf.close()
    if args.json:
        rows = [{"bench": k.bench, "trail": k.trail, "events": k.seq, "head": k.hash.hex()} for k in kept]
        found = [{"utc": a.utc, "bench": a.bench, "seq": a.seq, "kind": a.kind, "what": a.what} for a in alarms]
        shell.write(as_json({"kept": rows, "alarms": found}))
    else:
        for each in kept:
            shell.out(f"{each.bench}  {each.seq} events of trail {each.trail}, the last {each.last_utc[:16]}Z")
        for alarm in alarms:
            shell.out(f"! {alarm.kind}  {alarm.bench}  event {alarm.seq}: {alarm.what}  ({alarm.utc[:16]}Z)")
    loud = any(alarm.kind in ("conflict", "cut", "forged", "key") for alarm in alarms)
    return Exit.DAMAGED if loud else Exit.DONE


def acl(shell: Shell, _: argparse.Namespace) -> int:
    """Print the access list for the broker."""
    shell.write(access_list(load_settings(shell.home.folder).shop.name))
    return Exit.DONE


def wire(shell: Shell, _: argparse.Namespace) -> int:
    """Print the JSON schema of what goes over the wire."""
    shell.write(json.dumps(schema(), indent=2) + "\n")
    return Exit.DONE


# --- any command that reads a trail, on the shop's copies -----------------------------------------------------------

Handler = Callable[[Shell, argparse.Namespace], int]


def at_shop(handler: Handler, shell: Shell, args: argparse.Namespace) -> int:
    """Run a command that reads a trail on the shop's copy of one bench's trail, or of every bench's in turn."""
    if getattr(args, "look", None) is False:
        raise BadInput("The shop's copy is only read.", "Add --look, and run it at the bench to write the reviews.")
    shelf = shelf_of(shell.home)
    try:
        wanted = [kept for kept in shelf.kept() if args.shop in (EVERY, kept.bench)]
        if not wanted:
            raise BadInput("The shop keeps no such trail.", "List what it keeps with: evenhand shop show")
        return max(_on_copy(handler, shell, args, shelf, kept) for kept in wanted)
    finally:
        shelf.close()


def _on_copy(handler: Handler, shell: Shell, args: argparse.Namespace, shelf: Shelf, kept: Kept) -> int:
    with copied(shelf, kept, shell.home.toolbook) as path:
        shell.say(f"Bench {kept.bench}, trail {kept.trail}, {kept.seq} events:")
        return int(handler(replace(shell, home=Home(path.parent)), args))


def watch(shell: Shell, args: argparse.Namespace) -> int:
    """Show all benches live: on the screen, or a line for each change."""
    from tui.apps.shopwatch import watch_lines, watch_screen  # noqa: PLC0415  (late on purpose: it brings the screen)

    shop = shop_of(shell.home)
    broker = broker_as(shell.home, shop, f"{shop.name}-watcher-{time.time_ns() % 10**9}", "watcher")
    if args.plain:
        return until_signal(watch_lines(broker, shop.name, shell.out))
    if not shell.has_screen:
        raise BadInput("This is not a terminal, so there is no screen.", "Add --plain to go line by line.")
    return asyncio.run(watch_screen(broker, shop.name))
