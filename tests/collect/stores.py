"""Databases for the contract that both kinds must keep."""

import itertools

import sqlalchemy as sa

_NUMBERS = itertools.count(1)


def new_database(server: str) -> str:
    """Make a database on a PostgreSQL server and return its URL."""
    name = f"shop{next(_NUMBERS)}"
    engine = sa.create_engine(
        server.replace("postgresql://", "postgresql+psycopg://") + "/postgres", isolation_level="AUTOCOMMIT"
    )
    with engine.connect() as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name}")
    engine.dispose()
    return f"{server}/{name}"
