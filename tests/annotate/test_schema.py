"""The schema module: the only place where a column is named, and every column says what it means."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.index_rows import _ROWS
from annotate.revisions import add
from annotate.schema import INDEX_TABLES, described_columns, index_schema
from annotate.search import phrases, tihais
from layakosh import main
from tests.annotate.desk import SLUG, at, phrase, tihai

ROOT = Path(__file__).parents[2]
NAMING = {"field", "schema", "struct"}


def calls_in(path: Path) -> Iterator[tuple[str, ast.Call]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            yield ast.unparse(node.func), node


def test_no_other_module_names_a_column_for_parquet() -> None:
    elsewhere = [
        f"{path.relative_to(ROOT)}:{call.lineno}"
        for package in ("annotate", "commands", "dashboard", "ingest", "theory")
        for path in (ROOT / package).rglob("*.py")
        if path != ROOT / "annotate" / "schema.py"
        for name, call in calls_in(path)
        if name.startswith("pa.") and name.rpartition(".")[2] in NAMING and names_something(call)
    ]
    assert elsewhere == []


def names_something(call: ast.Call) -> bool:
    """Tell whether a call makes a column of a name of its own, and not of one that it has from a schema."""
    return any(isinstance(node, ast.Constant) and isinstance(node.value, str) for node in ast.walk(call))


def test_every_table_that_is_made_is_given_its_schema() -> None:
    for path in (ROOT / "annotate").rglob("*.py"):
        for name, call in calls_in(path):
            if name.startswith("pa.Table.from_"):
                given = {keyword.arg for keyword in call.keywords}
                assert "schema" in given, f"{path}:{call.lineno}"
            assert not name.endswith("to_parquet"), f"{path}:{call.lineno}"


@pytest.fixture
def written(archive: Archive) -> Archive:
    archive.commit(SLUG, [add(tihai(label="mine")), add(phrase("p01", at(3, 9), at(3, 13)))], "asha", "")
    return archive


@pytest.mark.parametrize("table", sorted(_ROWS))
def test_the_rows_of_the_index_have_the_columns_of_the_schema_and_no_other(written: Archive, table: str) -> None:
    """Arrow would leave out, unsaid, what the schema does not name."""
    rows = _ROWS[table](written.state(SLUG), lambda: written.grid(SLUG))
    assert rows
    for row in rows:
        assert {"recording", *row} == set(index_schema(table).names)


@pytest.mark.parametrize("table", INDEX_TABLES)
def test_every_column_says_what_it_means_and_times_their_unit(table: str) -> None:
    for row in described_columns(table):
        assert row["meaning"], row
        if row["column"].endswith(("_s", "_hz", "_ms")):
            assert row["unit"].lower() == row["column"].rpartition("_")[2], row


def test_a_search_shows_columns_of_the_index() -> None:
    assert set(phrases.FOUND) <= set(index_schema("phrases").names)
    assert set(tihais.FOUND) - {"first_palla_s"} <= set(index_schema("tihais").names)


def test_the_command_prints_every_column() -> None:
    said = CliRunner().invoke(main, ["columns", "--json"])
    printed = json.loads(said.output)
    assert {table: [row["column"] for row in rows] for table, rows in printed.items()} == {
        table: index_schema(table).names for table in INDEX_TABLES
    }
    shown = CliRunner().invoke(main, ["columns", "tihais"]).output
    assert "a row is a tihai" in shown
    assert "UTC]" in shown  # brackets are no markup here


def test_a_table_that_is_not_there_is_told_with_the_nearest() -> None:
    said = CliRunner().invoke(main, ["columns", "phrase"])
    assert said.exit_code == 2
    assert "Did you mean phrases?" in said.output
