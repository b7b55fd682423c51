"""A passage laid out by avartans and vibhags, for the terminal and as an HTML table."""

from fractions import Fraction
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.theory.strategies import passages, talas
from theory.errors import TheoryError
from theory.layout import lay_out, legend, to_html, to_terminal
from theory.notation import parse
from theory.talas import all_talas, get_tala, read_tala

SCRIPTS = st.sampled_from(("typed", "latin", "devanagari"))


def test_a_theka_is_laid_out_in_its_vibhags_with_its_signs_above():
    teental = get_tala("teental")
    assert to_terminal(lay_out(teental.theka, teental)) == (
        "    X                   2                   0                3\n"
        "1 | Dha Dhin Dhin Dha | Dha Dhin Dhin Dha | Dha Tin Tin Ta | Ta Dhin Dhin Dha |"
    )


def test_a_passage_begins_on_its_matra_and_runs_through_several_avartans():
    rupak = get_tala("rupak")
    assert to_terminal(lay_out(parse("S R g m P D n S' n D P m"), rupak, 4)) == (
        "    0       1      2\n"
        "1 |       | S  R | g m |\n"
        "2 | P D n | S' n | D P |\n"
        "3 | m     |      |     |"
    )  # fmt: skip


def test_a_passage_that_begins_inside_a_matra_is_silent_before():
    (cells,) = lay_out(parse("S R"), get_tala("dadra"), Fraction(5, 2)).avartans
    assert [cell.text for cell in cells] == ["", "_S", "-R", "-:1/2", "", ""]


def test_columns_are_aligned_under_signs_above_and_below_the_letters():
    jhaptal = get_tala("jhaptal")
    printed = to_terminal(lay_out(jhaptal.theka, jhaptal, script="devanagari"))
    assert printed.splitlines()[1] == "1 | धी ना | धी धी ना | ती ना | धी धी ना |"
    latin = to_terminal(lay_out(parse("r' M S .n"), get_tala("dadra"), script="latin"))
    assert latin.splitlines()[1] == "1 | R\u0332\u0307 M\u030d S | N\u0332\u0323   |"


def test_a_narrow_terminal_breaks_an_avartan_between_vibhags():
    teental = get_tala("teental")
    printed = to_terminal(lay_out(teental.theka, teental), width=50).splitlines()
    assert printed == [
        "    X                   2",
        "1 | Dha Dhin Dhin Dha | Dha Dhin Dhin Dha |",
        "    0                3",
        "  | Dha Tin Tin Ta | Ta Dhin Dhin Dha |",
    ]


def test_the_legend_says_which_signs_there_are():
    assert legend(get_tala("teental")) == "X sam, 2 3 claps, 0 khali"
    assert legend(get_tala("rupak")) == "0 on matra 1: sam is khali, 1 2 claps"
    assert legend(get_tala("dobahar")) == "X sam, 0 khali, other marks not transcribed"
    assert legend(get_tala("keherwa")) == "X sam, 0 khali"


@pytest.mark.parametrize("start", [0, 17, Fraction(1, 2)])
def test_a_start_outside_the_tala_is_refused(start):
    with pytest.raises(TheoryError, match="is not in Teental"):
        lay_out(parse("S"), get_tala("teental"), start)


@given(passages(), talas, st.data())
def test_what_stands_in_the_cells_is_the_passage(passage, tala, data):
    start = data.draw(st.integers(1, tala.matras))
    layout = lay_out(passage, tala, start)
    texts = [cell.text for cells in layout.avartans for cell in cells]
    assert parse(" ".join(texts)) == passage
    assert all(len(cells) == tala.matras for cells in layout.avartans)
    written = [place for place, text in enumerate(texts) if text]
    assert written == list(range(start - 1, start - 1 + len(written)))


@given(passages(), talas, SCRIPTS, st.integers(20, 120))
def test_bars_stand_in_the_same_columns_through_all_avartans(passage, tala, script, width):
    lines = to_terminal(lay_out(passage, tala, script=script), width).splitlines()
    bare = ["".join(c for c in line if c not in "\u0332\u030d\u0323\u0307") for line in lines]
    if script != "devanagari":  # there, letters above and below the line are many
        rows = [tuple(at for at, c in enumerate(line) if c == "|") for line in bare if "|" in line]
        parts = len(rows) // len(lay_out(passage, tala).avartans)
        assert all(len(set(rows[part::parts])) == 1 for part in range(parts))


class Table(HTMLParser):
    """Reads a table strictly: every tag closed in order; keeps cells and their headers."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.rows: list[list[str]] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag != "col":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if {"td", "th"} & set(self.open):
            self.rows[-1][-1] += data


@given(passages(), talas, SCRIPTS)
def test_the_table_holds_every_cell_under_numbered_matras(passage, tala, script):
    layout = lay_out(passage, tala, script=script)
    table = Table(to_html(layout))
    assert table.rows[0] == ["avartan", *(label for label, _ in layout.marks)]
    assert table.rows[1] == [str(matra + 1) for matra in range(tala.matras)]
    assert table.rows[2:] == [
        [str(number), *(cell.text for cell in cells)] for number, cells in enumerate(layout.avartans, 1)
    ]
    spans = [int(attrs["colspan"]) for tag, attrs in table.tags if tag == "th" and "colspan" in attrs]
    assert tuple(spans) == tala.vibhags
    assert all("scope" in attrs for tag, attrs in table.tags if tag == "th")
    assert sum(tag == "caption" for tag, _ in table.tags) == 1


def test_signs_have_their_words_for_those_who_listen():
    html = to_html(lay_out(parse("r' M _S -"), get_tala("dadra"), script="devanagari"))
    titles = [attrs["title"] for tag, attrs in Table(html).tags if tag == "abbr"]
    assert titles == ["sam, clap", "khali", "komal Re, upper octave", "tivra Ma", "silence", "Sa", "held"]
    assert '<tbody lang="hi">' in html
    assert 'title="sam, khali"' in to_html(lay_out(parse("S"), get_tala("rupak")))


def test_names_are_escaped():
    tala = read_tala(
        {
            "key": "x", "name": "<b>X & Y</b>", "matras": 2, "vibhags": [2], "marks": "X@1", "theka": "Dha Na",
            "source": "common practice",
        }
    )  # fmt: skip
    html = to_html(lay_out(tala.theka, tala))
    assert "&lt;b&gt;X &amp; Y&lt;/b&gt;, 2 matras" in html
    assert "&lt;i&gt;" in to_html(lay_out(tala.theka, tala), caption="<i>")


def test_every_theka_fits_a_hundred_columns_or_is_broken_between_vibhags():
    for tala in all_talas():
        lines = to_terminal(lay_out(tala.theka, tala), width=100).splitlines()
        assert all(len(line) <= 100 for line in lines), tala.key
