"""A collector process that stops where it is told to: with a batch received and written, but not committed.

It says `committing` on stdout before each commit of events and goes on at a line on stdin; it is meant to die there.
"""

import asyncio
import sys

import sqlalchemy as sa

from logger.collector.collector import Collector
from logger.collector.store import Store
from logger.collector.tables import open_database
from logger.shop.wiremqtt import MqttBroker


def main(port: int, url: str, shop: str, *, holds: bool) -> None:
    engine = open_database(url)
    wrote: list[bool] = []

    @sa.event.listens_for(engine, "before_cursor_execute")
    def _(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        wrote.extend([True] if statement.startswith("INSERT INTO events") else [])

    @sa.event.listens_for(engine, "commit")
    def _(_connection: object) -> None:
        if holds and wrote:
            wrote.clear()
            sys.stdout.write("committing\n")
            sys.stdout.flush()
            sys.stdin.readline()

    broker = MqttBroker("127.0.0.1", port, f"{shop}-collector", mqtt="3.1.1")
    store = Store(engine, shop, lambda: "2025-01-01T00:00:00Z")
    asyncio.run(Collector(shop, broker, store, share=lambda: 0.0).run())


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2], sys.argv[3], holds=sys.argv[4] == "holds")
