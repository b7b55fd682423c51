"""A user's own talas and ragas: found like the shipped ones, checked by the same rules."""

import os
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.catalogue import OWN
from theory.errors import BadData, UnknownName
from theory.own import load_own
from theory.raga_check import check_phrase
from theory.ragas import all_ragas, get_raga, read_raga
from theory.talas import all_talas, get_tala, read_tala, tala_variants

GOOD = """
[[tala]]
key = "five"
name = "Five"
aliases = ["panch"]
matras = 5
vibhags = [2, 3]
marks = "X@1 2@3"
theka = "Dhi Na | Dhi Dhi Na"
source = "my teacher"

[[tala.variant]]
key = "khali"
marks = "X@1 0@3"
source = "my teacher's brother"

[[tala]]
key = "teental/my-teacher"
name = "as my teacher plays it"
theka = "Dha Dhin Dhin Dha | Dha Dhin Dhin Dha | Dha Tin Tin Na | Na Dhin Dhin Dha"
source = "my teacher"

[[raga]]
key = "chandra"
name = "Chandra"
aroha = "S g m d N S'"
avaroha = "S' N d m g S"
source = "my own"
"""


def written(folder: Path, text: str, name: str = "own.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_of_one_s_own_is_read_with_its_variants(tmp_path):
    own = load_own(written(tmp_path, GOOD))
    assert [tala.key for tala in own.talas] == ["five", "teental/my-teacher", "five/khali"]
    assert [raga.key for raga in own.ragas] == ["chandra"]
    assert own.talas[0].source == "my teacher"
    assert own.talas[1].name == "Teental, as my teacher plays it"
    assert own.ragas[0].omitted == ("R", "P")


def test_reading_a_file_does_not_make_its_rows_known(tmp_path):
    load_own(written(tmp_path, GOOD))
    with pytest.raises(UnknownName):
        get_tala("five")


def test_rows_of_the_file_that_the_variable_names_are_found_like_all_others(tmp_path, monkeypatch):
    shipped = len(all_talas()), len(all_ragas())
    monkeypatch.setenv(OWN, str(written(tmp_path, GOOD)))
    assert (len(all_talas()), len(all_ragas())) == (shipped[0] + 1, shipped[1] + 1)
    assert get_tala("panch taal").key == "five"
    assert get_tala("Tintal / my teacher").matras == 16
    assert get_tala("five/khali").marks[1].kind == "khali"
    assert [each.key for each in tala_variants(get_tala("teental"))][-1] == "teental/my-teacher"
    assert [breach.symbol for breach in check_phrase(get_raga("chandra"), "S g P")] == ["P"]
    monkeypatch.delenv(OWN)
    assert len(all_talas()) == shipped[0]


def test_several_files_may_be_named_and_one_may_vary_what_another_adds(tmp_path, monkeypatch):
    more = written(
        tmp_path, '[[tala]]\nkey = "five/slow"\ntheka = "Dhi - | Na - -"\nsource = "a friend"\n', "more.toml"
    )
    monkeypatch.setenv(OWN, os.pathsep.join([str(written(tmp_path, GOOD)), str(more)]))
    assert get_tala("five/slow").vibhags == (2, 3)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("[[tala", "own.toml is no TOML: "),
        ("a = 1", r"expected rows that begin with \[\[tala\]\] or \[\[raga\]\], but 'a' came"),
        ("[tala]\nkey = 'x'", "but 'tala' came"),
        ("[[tala]]\nname = 'X'", "own.toml: the field 'key' is missing"),
        ("[[tala]]\nkey = 'x'\nmatras = 5", "own.toml, tala 'x': vibhags  = 0, but the tala has 5"),
        (GOOD.replace("[2, 3]", "[2, 2]"), r"own.toml, tala 'five': vibhags 2\+2 = 4, but the tala has 5"),
        (GOOD.replace("| Dhi Dhi Na", "Dhi | Dhi Na"), "own.toml, tala 'five': theka: This bar stands before matra 4"),
        (GOOD.replace('source = "my own"', ""), "own.toml, raga 'chandra': the field 'source' is missing"),
        (GOOD.replace('source = "my own"', 'source = " "'), "say who teaches it so"),
        (GOOD.replace("[2, 3]", "[2, 3.0]"), "list of whole numbers"),
        (GOOD.replace('"five"', '"teental"'), "already names Teental.\n.*'teental/my-teacher'"),
        (GOOD.replace('"panch"', '"trital"'), "tala 'five': 'trital' already names Teental"),
        (GOOD.replace("teental/", "tental/"), "there is no tala with the key 'tental' to vary"),
        (GOOD.replace("X@1 0@3", "X@1 0@4"), "tala 'five/khali': mark '0@4' should stand where a vibhag begins"),
        (GOOD.replace("aroha = \"S g m", "aroha = \"S g x"), "Expected a swara"),
    ],
)  # fmt: skip
def test_a_row_that_is_wrong_is_refused_with_file_row_and_field(tmp_path, monkeypatch, text, complaint):
    path = written(tmp_path, text)
    with pytest.raises(BadData, match="(?s)" + complaint):
        load_own(path)
    monkeypatch.setenv(OWN, str(path))
    with pytest.raises(BadData, match="(?s)" + complaint):
        _ = all_talas(), all_ragas()


def test_a_file_that_is_not_there_is_named_with_the_variable(tmp_path, monkeypatch):
    monkeypatch.setenv(OWN, str(tmp_path / "gone.toml"))
    with pytest.raises(BadData, match=r"gone.toml cannot be read: No such file.*LAYAKOSH_OWN"):
        get_tala("teental")


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "own.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadData, match="no text in UTF-8"):
        load_own(tmp_path / "own.toml")


TALA_FIELDS = ("key", "name", "aliases", "matras", "vibhags", "marks", "theka", "laya", "source", "notes", "mukhra")
RAGA_FIELDS = (
    "key", "name", "aliases", "thaat", "aroha", "avaroha", "also", "ascent_only", "only_within", "never", "vadi",
    "phrases", "source",
)  # fmt: skip
anything = st.recursive(
    st.one_of(
        st.text(alphabet="SrRgGmMP'.-_|X0@123 DhaTi", max_size=12), st.integers(-3, 20), st.booleans(), st.floats()
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.sampled_from("SRGgatm"), inner, max_size=3)
    ),
    max_leaves=5,
)


@given(st.dictionaries(st.sampled_from(TALA_FIELDS), anything))
def test_whatever_stands_in_a_row_of_a_tala_it_is_read_or_refused_in_words(changes):
    row = {
        "key": "x", "name": "X", "matras": 4, "vibhags": [2, 2], "marks": "X@1 0@3", "theka": "Dha Ge | Na Ti",
        "source": "y",
    }  # fmt: skip
    with suppress(BadData):
        read_tala({**row, **changes}, "own.toml", own=True)


@given(st.dictionaries(st.sampled_from(RAGA_FIELDS), anything))
def test_whatever_stands_in_a_row_of_a_raga_it_is_read_or_refused_in_words(changes):
    row = {"key": "x", "name": "X", "aroha": "S R G P D S'", "avaroha": "S' D P G R S", "source": "y"}
    with suppress(BadData):
        read_raga({**row, **changes}, "own.toml", own=True)
