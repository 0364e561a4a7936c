"""The collector's database: its tables, and how it is opened, on SQLite or PostgreSQL alike."""

import sqlite3

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from logger.errors import BadInput, NotStored
from logger.settings.settings import expanded

metadata = sa.MetaData()

chains = sa.Table(
    "chains",
    metadata,
    sa.Column("bench", sa.String(32), primary_key=True),
    sa.Column("trail", sa.String(32), primary_key=True),
    sa.Column("seq", sa.BigInteger, nullable=False),
    sa.Column("hash", sa.LargeBinary, nullable=False),
    sa.Column("first_utc", sa.String(32), nullable=False),
    sa.Column("last_utc", sa.String(32), nullable=False),
    sa.Column("head_session", sa.BigInteger, nullable=False),
)
"""How far each trail is kept without a gap."""


def _place() -> tuple[sa.Column[str], sa.Column[str], sa.Column[int]]:
    """Where an event stands, as every table of events is keyed."""
    return (
        sa.Column("bench", sa.String(32), primary_key=True),
        sa.Column("trail", sa.String(32), primary_key=True),
        sa.Column("seq", sa.BigInteger, primary_key=True, autoincrement=False),
    )


def _events(name: str) -> sa.Table:
    return sa.Table(
        name,
        metadata,
        *_place(),
        sa.Column("prev", sa.LargeBinary, nullable=False),
        sa.Column("hash", sa.LargeBinary, nullable=False),
        sa.Column("bytes", sa.LargeBinary, nullable=False),
        sa.Column("job", sa.String(64), nullable=False),
        sa.Column("key", sa.LargeBinary, nullable=False),
        sa.Column("signature", sa.LargeBinary, nullable=False),
        sa.Column("utc", sa.String(32), nullable=False),
    )


events = _events("events")
"""What is kept, up to the end of each chain; nothing is ever changed or removed."""
ahead = _events("ahead")
"""What arrived before something that is missing."""

parked = sa.Table(
    "parked",
    metadata,
    *_place(),
    sa.Column("kind", sa.String(16), nullable=False),
    sa.Column("times", sa.Integer, nullable=False),
    sa.Column("reason", sa.String(500), nullable=False),
    sa.Column("payload", sa.LargeBinary, nullable=False),
    sa.Column("utc", sa.String(32), nullable=False),
)
"""Kind `refused` (asked for again), `parked` (gone on without it) or `unread` (kept, but not understood)."""

alarms = sa.Table(
    "alarms",
    metadata,
    *_place(),
    sa.Column("kind", sa.String(16), primary_key=True),
    sa.Column("evidence", sa.String(64), primary_key=True),
    sa.Column("what", sa.String(500), nullable=False),
    sa.Column("payload", sa.LargeBinary, nullable=False),
    sa.Column("utc", sa.String(32), nullable=False),
)
"""What a person must look at; `evidence` is the hash of the payload, so that a repeat is one alarm."""

benches = sa.Table(
    "benches",
    metadata,
    sa.Column("bench", sa.String(32), primary_key=True),
    sa.Column("session", sa.BigInteger, nullable=False),
    sa.Column("state", sa.String(16), nullable=False),
    sa.Column("utc", sa.String(32), nullable=False),
)
"""The last birth or end of each bench."""

keys = sa.Table(
    "keys",
    metadata,
    sa.Column("bench", sa.String(32), primary_key=True),
    sa.Column("key", sa.LargeBinary, nullable=False),
    sa.Column("utc", sa.String(32), nullable=False),
)
"""The public key that each bench first signed with; another one later is an alarm."""


def open_database(url: str) -> sa.Engine:
    """Open or create the database at a URL or the path of an SQLite file.

    BadInput when the URL is none or its driver is missing, NotStored when the database cannot be reached. What is
    told never repeats the URL: it may hold a password.
    """
    try:
        engine = sa.create_engine(_url(url), pool_pre_ping=True, hide_parameters=True)
    except (sa.exc.ArgumentError, ModuleNotFoundError) as error:
        raise BadInput(
            f"The collector's store cannot be used ({type(error).__name__}).",
            "Give a path, or postgresql+psycopg://HOST/DATABASE with the extra `postgresql` installed.",
        ) from None
    if engine.dialect.name == "sqlite":
        _as_ledger(engine)
    try:
        _create(engine)
    except sa.exc.SQLAlchemyError as error:
        engine.dispose()
        raise cannot(error) from None
    return engine


def _create(engine: sa.Engine) -> None:
    """Make the tables that are not there; two collectors that start together may get in each other's way once."""
    try:
        metadata.create_all(engine)
    except (sa.exc.IntegrityError, sa.exc.ProgrammingError, sa.exc.OperationalError):
        metadata.create_all(engine)


def _url(given: str) -> str:
    if "://" not in given:
        path = expanded(given).absolute()
        path.parent.mkdir(parents=True, exist_ok=True)
        return f"sqlite:///{path}"
    return given.replace("postgresql://", "postgresql+psycopg://", 1)


def _as_ledger(engine: sa.Engine) -> None:
    """Make each commit durable, and each transaction take the write lock at its start."""

    @sa.event.listens_for(engine, "connect")
    def _(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "busy_timeout = 10000"):
            connection.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def _(connection: sa.Connection) -> None:
        reads = connection.get_execution_options().get("reads", False)
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def cannot(error: Exception) -> NotStored:
    """Return what to tell of a database that fails, without a word that may hold a password."""
    return NotStored(
        f"The collector's store cannot be used ({type(error).__name__}).", "Check that it runs and who may write in it."
    )


def insert_new(connection: sa.Connection, table: sa.Table, rows: list[dict[str, object]]) -> None:
    """Insert the rows whose key is not there yet."""
    if not rows:
        return
    make = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    connection.execute(make(table).on_conflict_do_nothing(), rows)
