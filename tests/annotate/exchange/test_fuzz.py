"""Whatever a stranger's file holds, it is read or refused in words: no other error ever comes out of a reader."""

from __future__ import annotations

import contextlib
import json
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.cells import TABLES
from annotate.csv_read import Row
from annotate.exchange.jams_out import jams
from annotate.exchange.label_lists import label_list, webvtt
from annotate.exchange.reading import read_file
from annotate.exchange.spans import spans_of
from annotate.exchange.tables_out import table_csv
from annotate.revisions import add, pack
from annotate.rows_in import take
from annotate.tables_in import new_recording, table_rows
from tests.annotate.desk import SLUG, fingerprint, make_archive, phrase, tihai
from theory.errors import LayakoshError

FORMS = ("labels", "webvtt", "jams")


class Bench:
    """An archive, a file to write into, and what well-formed files look like."""

    def __init__(self, folder: Path) -> None:
        self.archive: Archive = make_archive(folder)
        self.archive.commit(SLUG, [add(tihai(label="five")), add(phrase())], "test", "rows")
        self.path = folder / "file"
        state, grid = self.archive.state(SLUG), self.archive.grid(SLUG)
        spans = spans_of(state, grid)
        self.good = {"labels": label_list(spans), "webvtt": webvtt(spans), "jams": jams(state, grid)}
        self.good |= {table: table_csv(state, grid, table)[0] for table in TABLES}
        self.before = fingerprint(self.archive)
        self.taken = 0

    def rows(self, form: str, table: str | None) -> dict[str, list[Row]]:
        if form in TABLES:
            return {form: table_rows(self.path, form)}
        return read_file(self.path, form, table).rows

    def read(self, content: bytes, form: str, table: str | None) -> None:
        """Read a file and try it on a recording that is there and on a new one; write nothing."""
        self.path.write_bytes(content)
        for slug in (SLUG, "new"):
            with contextlib.suppress(LayakoshError):
                rows = self.rows(form, table)
                taken = take(self.archive, slug, rows, made=new_recording(self.archive, slug), write=False)
                pack(taken.edits, {})  # what is taken can be kept
                self.taken += bool(taken.edits)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return Bench(tmp_path_factory.mktemp("fuzz"))


forms = st.sampled_from([*FORMS, *TABLES])
tables = st.sampled_from([None, *TABLES])
pieces = st.sampled_from(
    [
        *"\t;,\n\r\"'()|:-_.&<>{}[]", "1e400", "-1", "nan", "1:99", "99:59:59", "0.5", "S R G", "Dha", "1/0", "9" * 30,
        "section ", "sam ", "tihai t01: ", "phrase : ", "(gat, teental)", "(tracked)", "none", "\x00", "\x1b[2J",
        "\ufeff", "\u2028", "WEBVTT\n\n", " --> ", "NOTE", "&#x110000;", "&#0;", "null", "true", "S:1/999", "é", "पं",
    ]
)  # fmt: skip


@given(content=st.binary(max_size=300), form=forms, table=tables)
@settings(max_examples=100)
def test_any_bytes(bench: Bench, content: bytes, form: str, table: str | None) -> None:
    bench.read(content, form, table)


@given(content=st.lists(st.one_of(pieces, st.text(max_size=4)), max_size=40), form=forms, table=tables)
@settings(max_examples=150)
def test_any_text_of_pieces_that_mean_something(bench: Bench, content: list[str], form: str, table: str | None) -> None:
    head = {"webvtt": "WEBVTT\n\n"}.get(form, bench.good[form].splitlines()[0] + "\n" if form in TABLES else "")
    bench.read((head + "".join(content)).encode("utf-8", "surrogatepass"), form, table)


@given(seed=st.integers(0, 2**32), inserted=st.lists(pieces, min_size=1, max_size=4), form=forms, table=tables)
@settings(max_examples=300)
def test_a_good_file_with_a_few_places_changed(
    bench: Bench, seed: int, inserted: list[str], form: str, table: str | None
) -> None:
    text, rng = bench.good[form], random.Random(seed)
    for piece in inserted:
        place = rng.randrange(len(text))
        text = text[:place] + piece + text[place + rng.randrange(4) :]
    bench.read(text.encode("utf-8", "surrogatepass"), form, table)


odd = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=6), pieces, st.just([]), st.just({}),
    st.just("\ud800"), st.just(10**400), st.lists(st.floats(), max_size=4),
)  # fmt: skip


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a JSON value, as the keys that lead there."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(spot for key, each in inner for spot in spots(each, (*path, key)))]


@given(seed=st.integers(0, 2**32), values=st.lists(odd, min_size=1, max_size=3), table=tables)
@settings(max_examples=300)
def test_a_good_jams_file_with_values_of_any_kind(
    bench: Bench, seed: int, values: list[Any], table: str | None
) -> None:
    told, rng = json.loads(bench.good["jams"]), random.Random(seed)
    for annotation in told["annotations"]:
        annotation["data"] = annotation["data"][:3]
        if "rows" in annotation["sandbox"]["layakosh"]:
            annotation["sandbox"]["layakosh"]["rows"] = annotation["sandbox"]["layakosh"]["rows"][:3]
    for value in values:
        path = rng.choice(spots(told["annotations"])[1:])
        into = told["annotations"]
        with contextlib.suppress(KeyError, IndexError, TypeError):
            for key in path[:-1]:
                into = into[key]
            into[path[-1]] = value
    bench.read(json.dumps(told).encode("utf-8"), "jams", table)


@pytest.mark.parametrize(
    "content",
    ["[" * 100_000, '{"annotations":' * 50_000, "9" * 100_000,
     '{"annotations": [{"namespace": "beat", "data": ' + "9" * 5000],
)  # fmt: skip
def test_depth_and_digits_without_end_are_refused(bench: Bench, content: str) -> None:
    bench.path.write_text(content)
    with pytest.raises(LayakoshError, match=r"^file"):
        read_file(bench.path, "jams")


@pytest.mark.parametrize("form", FORMS)
def test_a_folder_or_nothing_in_place_of_a_file_is_named(bench: Bench, tmp_path: Path, form: str) -> None:
    for path in (tmp_path, tmp_path / "gone"):
        with pytest.raises(LayakoshError, match=r"The file cannot be opened"):
            read_file(path, form)


def test_all_that_fuzzing_wrote_nothing(bench: Bench) -> None:
    assert fingerprint(bench.archive) == bench.before
    assert bench.archive.slugs() == [SLUG]
    assert bench.taken > 20  # not all of it was refused
