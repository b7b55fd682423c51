"""Label lists, WebVTT and JAMS from elsewhere: what they say becomes rows, once, or is refused with its place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.errors import BadTable
from annotate.exchange.jams_out import jams
from annotate.exchange.label_lists import label_list, webvtt
from annotate.exchange.reading import form_of, read_file
from annotate.exchange.spans import spans_of
from annotate.revisions import add
from annotate.rows_in import Counts, Taken, take
from annotate.tables_in import new_recording
from tests.annotate.desk import SLUG, fingerprint, phrase, tihai


def load(archive: Archive, path: Path, table: str | None = None, slug: str = SLUG, write: bool = True) -> Taken:
    read = read_file(path, form_of(path), table)
    return take(archive, slug, read.rows, made=new_recording(archive, slug), who="asha", why="loaded", write=write)


def put(folder: Path, text: str | bytes, name: str = "labels.txt") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.fixture
def full(archive: Archive) -> Archive:
    rows = [tihai(label="five (times) three"), tihai("t09", cycle=5, palla="Dha Ti Ta:1/2"), phrase()]
    archive.commit(SLUG, [add(row) for row in rows], "test", "rows")
    return archive


@pytest.mark.parametrize("name", ["own.txt", "own.vtt", "own.jams"])
def test_what_was_exported_is_recognised_and_nothing_is_doubled(full: Archive, tmp_path: Path, name: str) -> None:
    state, grid = full.state(SLUG), full.grid(SLUG)
    spans = spans_of(state, grid)
    text = {"own.txt": label_list(spans), "own.vtt": webvtt(spans), "own.jams": jams(state, grid)}[name]
    before = fingerprint(full)
    taken = load(full, put(tmp_path, text, name))
    assert taken.edits == ()
    assert taken.counts == {
        "sections": Counts(2, 0, 0, 2),
        "sams": Counts(11, 0, 0, 11),
        "tihais": Counts(2, 0, 0, 2),
        "phrases": Counts(1, 0, 0, 1),
    }
    assert fingerprint(full) == before


@pytest.mark.parametrize("name", ["own.txt", "own.vtt", "own.jams"])
def test_a_new_recording_gets_what_the_format_holds(full: Archive, tmp_path: Path, name: str) -> None:
    state, grid = full.state(SLUG), full.grid(SLUG)
    spans = spans_of(state, grid)
    text = {"own.txt": label_list(spans), "own.vtt": webvtt(spans), "own.jams": jams(state, grid)}[name]
    load(full, put(tmp_path, text, name), slug="again")
    again = full.state("again")
    assert again.sections == state.sections
    assert [sam.sam_s for sam in again.marked_sams] == [sam.sam_s for sam in state.marked_sams]
    assert [(each.tihai, each.palla_s[0], each.landing_s, each.palla, each.label) for each in again.tihais] == [
        (each.tihai, each.palla_s[0], each.landing_s, each.palla, each.label) for each in state.tihais
    ]
    assert [(each.phrase, each.start_s, each.end_s, each.swaras, each.role) for each in again.phrases] == [
        (each.phrase, each.start_s, each.end_s, each.swaras, each.role) for each in state.phrases
    ]
    if name == "own.jams":
        assert [each.dam for each in again.tihais] == [each.dam for each in state.tihais]
        assert [each.palla_s for each in again.tihais] == [each.palla_s for each in state.tihais]


def test_a_format_that_holds_less_leaves_the_rest_as_it_is(full: Archive, tmp_path: Path) -> None:
    text = label_list(spans_of(full.state(SLUG), full.grid(SLUG))).replace("five (times) three", "changed")
    taken = load(full, put(tmp_path, text))
    assert taken.counts["tihais"] == Counts(2, 0, 1, 1)
    before, after = tihai(), full.state(SLUG).tihai("t01")
    assert (after.label, after.dam, after.palla_s, after.who) == ("changed", before.dam, before.palla_s, "asha")


def test_a_tracked_sam_is_passed_over_since_nobody_marked_it(full: Archive, tmp_path: Path) -> None:
    read = read_file(put(tmp_path, "18\t18\tsam 2 (tracked)\n26\t26\tsam 3\n"), "labels")
    assert [row.cells for row in read.rows["sams"]] == [{"sam_s": "26.0", "cycle": "3"}]
    assert read.passed_over == {"tracked sams": 1}


@pytest.mark.parametrize(
    "text",
    [
        "1.5\t2\tR m P\n3\t4\tP m R (tan)\n",
        "\ufeffstart\tend\tlabel\r\n1.5\t2\tR m P\r\n\r\n3\t4\tP m R (tan)\r\n",
        "start;end;label\n1,5;2;R m P\n0:03;0:04,0;P m R (tan)\n",
        "1.5,2,R m P\r3,4,P m R (tan)",
        '1.5, 2, "R m P"\n3, 4, "P m R (tan)",\n',
    ],
)
def test_lists_between_tabs_semicolons_or_commas_say_the_same(archive: Archive, tmp_path: Path, text: str) -> None:
    taken = load(archive, put(tmp_path, text), "phrases")
    assert taken.counts["phrases"].new == 2
    assert [(p.start_s, p.end_s, p.swaras, p.role) for p in archive.state(SLUG).phrases] == [
        (1.5, 2, "R m P", ""),
        (3, 4, "P m R", "tan"),
    ]


def test_moments_may_have_no_end(archive: Archive, tmp_path: Path) -> None:
    taken = load(archive, put(tmp_path, "30.5\n38,5\n46.5\t\t5\n54.5\tsam\n"), "sams")
    assert taken.counts["sams"] == Counts(4, 4, 0, 0)
    assert {54.5, 30.5, 38.5} <= {sam.sam_s for sam in archive.state(SLUG).marked_sams}


def test_sections_of_one_name_are_numbered_and_tell_their_tala(archive: Archive, tmp_path: Path) -> None:
    text = "0\t10\tAlap\n10\t50\tVilambit teental\n50\t90\tVilambit teental\n"
    load(archive, put(tmp_path, text), "sections", slug="other")
    assert [(each.section, each.kind, each.tala) for each in archive.state("other").sections] == [
        ("Alap", "alap", ""),
        ("Vilambit teental", "gat", "teental"),
        ("Vilambit teental 2", "gat", "teental"),
    ]


def test_many_sections_of_one_name_are_numbered(tmp_path: Path) -> None:
    text = "0\t1\tgat 2\n" + "".join(f"{n}\t{n + 1}\tgat\n" for n in range(20_000))
    rows = read_file(put(tmp_path, text), "labels", "sections").rows["sections"]
    assert [row.cells["section"] for row in rows[:4]] == ["gat 2", "gat", "gat 3", "gat 4"]
    assert len({row.cells["section"] for row in rows}) == 20_001


def test_two_rows_of_one_key_in_jams_are_told_with_both_places(full: Archive, tmp_path: Path) -> None:
    told = json.loads(jams(full.state(SLUG), full.grid(SLUG)))
    (tihais,) = [each for each in told["annotations"] if each["sandbox"]["layakosh"]["table"] == "tihais"]
    tihais["data"].append(tihais["data"][1])
    tihais["sandbox"]["layakosh"]["rows"].append(tihais["sandbox"]["layakosh"]["rows"][1])
    with pytest.raises(BadTable, match=r"rows\[2\], tihai: 't09' stands in annotations\[\d\]\.sandbox.*rows\[1\] too"):
        load(full, put(tmp_path, json.dumps(told), "twice.jams"))


def test_a_look_ahead_writes_nothing(archive: Archive, tmp_path: Path) -> None:
    before = fingerprint(archive)
    taken = load(archive, put(tmp_path, "20\t26\tfive\n"), "tihais", write=False)
    assert (taken.counts["tihais"].new, taken.edits[0].action) == (1, "add")
    assert fingerprint(archive) == before


def test_one_row_twice_in_a_file_is_one_row(archive: Archive, tmp_path: Path) -> None:
    taken = load(archive, put(tmp_path, "20\t26\tfive\n20\t26\tfive\n"), "tihais")
    assert taken.counts["tihais"] == Counts(2, 1, 0, 1)


def test_cues_are_read_past_notes_names_settings_and_tags(archive: Archive, tmp_path: Path) -> None:
    text = (
        "\ufeffWEBVTT of a concert\r\nKind: notes\r\n\r\nNOTE not\r\na cue\r\n\r\nSTYLE\r\n::cue {}\r\n\r\n"
        "first\r\n00:20.000 --> 00:22.500 align:start\r\n<v Asha>R m\r\n<i>P</i> &amp;\r\n\r\n"
        "00:00:23.000 --> 00:00:24.000\r\nS\r\n"
    ).replace(" &amp;", "")
    load(archive, put(tmp_path, text, "a.vtt"), "phrases")
    assert [(p.start_s, p.end_s, p.swaras) for p in archive.state(SLUG).phrases] == [(20, 22.5, "R m P"), (23, 24, "S")]


def beats(**changes: object) -> dict[str, object]:
    data = [
        {"time": t, "duration": 0, "value": {"position": p, "measure": m}, "confidence": None}
        for t, p, m in ((30.5, 1, 3), (31.0, 2, 3), (38.5, 1, 4))
    ]
    return {"namespace": "beat_position", "annotation_metadata": {}, "data": data, "sandbox": {}, **changes}


def test_strangers_beats_segments_and_tags_are_read_from_jams(archive: Archive, tmp_path: Path) -> None:
    tag = {"namespace": "tag_open", "data": [{"time": 20, "duration": 2.5, "value": "R m P", "confidence": 1}]}
    chords = {"namespace": "chord", "data": []}
    text = json.dumps({"annotations": [beats(), tag, chords, chords]})
    path = put(tmp_path, text, "x.jams")
    read = read_file(path, "jams", "phrases")
    assert read.passed_over == {"annotations in chord": 2}
    load(archive, path, "phrases")
    state = archive.state(SLUG)
    assert {(sam.sam_s, sam.cycle) for sam in state.marked_sams} >= {(30.5, 3), (38.5, 4)}
    assert [(each.start_s, each.end_s, each.swaras) for each in state.phrases] == [(20, 22.5, "R m P")]


def test_where_another_program_moved_an_observation_it_counts_and_the_sandbox_does_not(
    full: Archive, tmp_path: Path
) -> None:
    told = json.loads(jams(full.state(SLUG), full.grid(SLUG)))
    (tags,) = [each for each in told["annotations"] if each["sandbox"]["layakosh"]["table"] == "phrases"]
    tags["data"][0]["time"] = 40.0
    path = put(tmp_path, json.dumps(told), "moved.jams")
    assert read_file(path, "jams").passed_over == {"sandboxes that no longer fit their observations": 1}
    load(full, path)
    assert [each.start_s for each in full.state(SLUG).phrases] == [20.0, 40.0]


@pytest.mark.parametrize(
    ("name", "text", "place"),
    [
        ("a.txt", "20\t26\tfive\n", r"a\.txt, row 1, column label: 'five' begins with none of section, sam"),
        ("a.txt", "20\t26\ttihai x\nabc\t3\tsam\n", r"a\.txt, row 2, column start: 'abc' is not a time"),
        ("a.txt", "20;19;tihai x\n", r"a\.txt, row 1, column end: 19 comes before the start, 20"),
        ("a.txt", "20,5,26,1,tihai x\n", r"a\.txt, row 1: Expected start, end and label, but 5 cells came"),
        ("a.txt", '1;2;"x\n', r"a\.txt, row 1: The line cannot be cut into cells"),
        ("a.txt", "1\t2\ttihai \x1b[2J\n", r"a\.txt, row 1: A control character \(U\+001B\)"),
        ("a.txt", b"\xff\xfe1\x00", r"a\.txt: The file is not UTF-8 text"),
        ("a.txt", "20\t26\ttihai t01: S R Q\n", r"a\.txt, row 1, column palla: Expected a swara(?s:.*)S R Q\n +\^"),
        ("a.txt", "20\t21\tphrase p01: \n", r"a\.txt, row 1, column swaras: Expected the phrase's swaras"),
        ("a.vtt", "20\t26\n", r"a\.vtt, row 1: The file is not WebVTT"),
        ("a.vtt", "WEBVTT\n\n00:20 --> 00:21\nx\n", r"a\.vtt, row 3: Expected the times of a cue"),
        ("a.vtt", "WEBVTT\n\nx\n00:20.000 --> 00:19.000\nx\n", r"a\.vtt, row 4: The cue ends before it starts"),
        ("a.jams", "{", r"a\.jams, row 1: The file is not JSON"),
        ("a.jams", "[]", r"a\.jams: The file is not JAMS"),
        ("a.jams", "[" * 200_000, r"a\.jams: The file is nested too deeply"),
        ("a.jams", '{"annotations": [{}]}', r"a\.jams: annotations\[0\]\.namespace: Expected the name"),
        ("a.jams", '{"annotations": [{"namespace": "beat", "data": 1}]}', r"annotations\[0\]\.data: Expected a list"),
        (
            "a.jams",
            '{"annotations": [{"namespace": "beat", "data": [{"time": -1}]}]}',
            r"annotations\[0\]\.data\[0\]\.time: Expected seconds from 0 on, but -1 came",
        ),
        (
            "a.jams",
            '{"annotations": [{"namespace": "beat", "data": [{"time": 5, "duration": 0, "value": 1}]}]}',
            r"annotations\[0\]\.data\[0\], sam_s: The sam mark 0:05 falls in 'alap'",
        ),
        (
            "a.jams",
            '{"annotations": [{"namespace": "tag_open", "data": [{"time": 5, "duration": 0, "value": 3}]}]}',
            r"annotations\[0\]\.data\[0\]\.value: Expected a text, but 3 came",
        ),
    ],
)
def test_what_cannot_be_read_is_refused_with_file_and_place_and_nothing_is_written(
    archive: Archive, tmp_path: Path, name: str, text: str | bytes, place: str
) -> None:
    before = fingerprint(archive)
    with pytest.raises(BadTable, match=place):
        load(archive, put(tmp_path, text, name))
    assert fingerprint(archive) == before


def test_a_file_larger_than_the_limit_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("annotate.text_in.MOST_BYTES", 2**20)
    with pytest.raises(BadTable, match=r"labels\.txt: The file is larger than 1 MB"):
        read_file(put(tmp_path, b"1" * (2**20 + 1)), "labels")
