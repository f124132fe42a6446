"""Records in PostgreSQL as CSV files, one a table, and back.

The tables are written as they stand in the database, whichever Setwright made them, so that a backup can be made before
an upgrade. Each member `records/TABLE.csv` of a backup is CSV in UTF-8 as PostgreSQL's COPY writes it: the first line
names the columns, NULL is an empty cell without quotes and an empty text is "", times are ISO 8601 in UTC, bytes are
`\\x` and hexadecimal digits. Which migrations the tables have had stands in the backup's list.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.migrations.exceptions import NodeNotFoundError
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from psycopg import sql

LEFT_OUT = ("search", "sessions")
"""Apps whose tables are not written: the index is made anew, and who was logged in logs in again."""

Node = tuple[str, str]
"""A migration: app and name."""


class NewerTables(Exception):
    """The tables were made by a newer Setwright than this one; the message names a migration it does not have."""


def size_of_all() -> int:
    """How much room the whole database takes [bytes]."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def write_tables(folder: Path) -> list[Path]:
    """Every table with records as `TABLE.csv` in the folder, all as they stand at one moment.

    Raises DatabaseError, OSError, NewerTables.
    """
    written = []
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        for name, model in sorted(_tables(_applied()).items()):
            if model._meta.app_label in LEFT_OUT:
                continue
            path = folder / f"{name}.csv"
            copy = sql.SQL("COPY (SELECT {} FROM {} ORDER BY 1) TO STDOUT (FORMAT csv, HEADER)")
            columns = [column.name for column in connection.introspection.get_table_description(cursor, name)]
            asked = copy.format(_listed(columns), sql.Identifier(name))
            with path.open("wb") as stream, connection.wrap_database_errors, cursor.copy(asked) as rows:
                for piece in rows:
                    stream.write(piece)
            written.append(path)
    return written


def load_tables(found: Mapping[str, Iterable[bytes]], migrations: Sequence[str]) -> None:
    """Make the records those of a backup, with the tables of this Setwright; inside a transaction of the caller's.

    The tables are made anew as they were when the backup was made, filled, and then brought up to date, as if that
    Setwright's records were upgraded. found : the content of each table by its name. migrations : as the backup lists
    them. Raises DatabaseError; ValueError where a file is none of these tables.
    """
    nodes = {(app, name) for app, _, name in (text.partition(".") for text in migrations)}
    with connection.cursor() as cursor:
        _drop_all(cursor)
        executor = MigrationExecutor(connection)
        executor.migrate(_last_of(executor.loader, nodes))
        tables = _tables(nodes)
        for name, pieces in found.items():
            if name not in tables:
                raise ValueError(f"there was no table {name} then")
            _fill(cursor, name, pieces)
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables.values())):
            cursor.execute(statement)
        # What refers to what is checked now: tables with checks still open cannot be changed by an upgrade.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def _applied() -> set[Node]:
    return set(MigrationRecorder(connection).applied_migrations())


def _tables(nodes: set[Node]) -> dict[str, type[models.Model]]:
    """The tables that those migrations made, by name, with the models as they were then."""
    return {
        model._meta.db_table: model
        for model in _models(nodes).get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    }


def _models(nodes: set[Node]) -> Apps:
    loader = MigrationLoader(None)
    try:
        return loader.project_state(sorted(nodes)).apps
    except (NodeNotFoundError, KeyError) as error:
        newer = min(nodes - set(loader.disk_migrations), default=("", ""))
        raise NewerTables(".".join(newer)) from error


def _last_of(loader: MigrationLoader, nodes: set[Node]) -> list[Node]:
    """Those of the migrations that no other one of the same app among them comes after."""
    earlier = {
        parent.key for node in nodes for parent in loader.graph.node_map[node].parents if parent.key[0] == node[0]
    }
    return sorted(nodes - earlier)


def _drop_all(cursor: Any) -> None:
    names = [*_tables(_applied()), MigrationRecorder.Migration._meta.db_table]
    cursor.execute(sql.SQL("DROP TABLE IF EXISTS {} CASCADE").format(_listed(names)))


def _fill(cursor: Any, table: str, pieces: Iterable[bytes]) -> None:
    first, rest = _first_line(iter(pieces))
    columns = next(csv.reader(io.StringIO(first)), [])
    copy = sql.SQL("COPY {} ({}) FROM STDIN (FORMAT csv)").format(sql.Identifier(table), _listed(columns))
    with connection.wrap_database_errors, cursor.copy(copy) as rows:
        for piece in rest:
            rows.write(piece)


def _first_line(pieces: Iterator[bytes]) -> tuple[str, Iterator[bytes]]:
    """The line of column names (no name of a column has a line end in it), and all that comes after it."""
    begun = b""
    for piece in pieces:
        begun += piece
        if b"\n" in begun:
            break
    first, _, rest = begun.partition(b"\n")

    def remaining() -> Iterator[bytes]:
        yield rest
        yield from pieces

    return first.decode("utf-8"), remaining()


def _listed(names: Sequence[str]) -> sql.Composed:
    return sql.SQL(", ").join(sql.Identifier(name) for name in names)
