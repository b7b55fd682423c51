"""Notes in Markdown: what may stand on a page, whatever somebody types.

What is common Markdown is held against examples of the CommonMark specification (spec.commonmark.org, version 0.31.2),
named by their numbers there, from memory.
"""

from __future__ import annotations

import re
import time
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import html

from annotate.courses.notes import is_safe, to_html

TAGS = {
    "p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "a", "h3", "h4", "h5", "h6",
    "table", "thead", "tbody", "tr", "th", "td",
}  # fmt: skip
ATTRIBUTES = {"href", "rel", "class", "start"}
VOID = {"br", "hr"}
HOSTILE = (
    "[a](javascript://x.example/%0Aalert(1))",
    "[a](data://x.example/y)",
    "[a](ftp://x.example/y)",
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "[a](javascript:alert(1))",
    "[a](JaVaScRiPt:alert(1))",
    "[a](&#106;avascript:alert(1))",
    "[a](java\\script:alert(1))",
    "[a](data:text/html;base64,PHNjcmlwdD4=)",
    "[a](vbscript:x)",
    "[a](file:///etc/passwd)",
    "[a](//elsewhere.example)",
    "[a](/\\elsewhere.example)",
    "![a](javascript:alert(1))",
    "<javascript:alert(1)>",
    "[a]: javascript:alert(1)\n\n[a]",
    '[a](/x "\\" onclick=alert(1)")',
    "`` <b onclick=x> ``",
    '```"><script>\nx\n```',
    "| a |\n|--:|\n| <svg onload=x> |",
    "<style>*{display:none}</style>",
    '[a](http://x.example/"onmouseover=alert(1))',
    "![x](http://x.example/p.png)",
    "\x00\x01",
    "<!-- --><b>",
    "&lt;b&gt;",
    "[a](http:alert(1))",
    "[a](tel:1)",
    "<a@b.example>",
    "<form action=/compose/keep method=post>",
)


class Reader(HTMLParser):
    """Reads markup, and refuses what may not stand in it."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.links: list[str] = []
        self.levels: list[int] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in TAGS
        assert {name for name, _ in attrs} <= ATTRIBUTES
        assert not (tag == "a" and "a" in self.open)
        told = dict(attrs)
        assert re.fullmatch(r"(to-(left|right|center)|language-\S+)?", told.get("class") or "")
        if tag == "a":
            self.links.append(told["href"] or "")
            assert told["rel"] == "noopener noreferrer"
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_decl(self, decl: str) -> None:
        raise AssertionError(f"a declaration: {decl}")


def read(markup: str) -> Reader:
    reader = Reader()
    reader.feed(markup)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("notes", HOSTILE)
def test_nothing_that_does_harm_gets_into_a_page(notes: str) -> None:
    reader = read(to_html(notes))
    for link in reader.links:
        assert link.startswith(("http://x.example/", "/x"))


@given(
    st.lists(st.sampled_from([*HOSTILE, "# ", "> ", "- ", "1. ", "|", "\n", "\n\n", "**", "`", "[", "](", ")", "<"]))
)
@settings(max_examples=100, deadline=None)
def test_no_mixture_of_it_does(parts: list[str]) -> None:
    reader = read(to_html("".join(parts)))
    assert all(map(is_safe, reader.links))


@given(st.text(max_size=200))
@settings(max_examples=100, deadline=None)
def test_any_text_ends_in_markup_that_may_stand_on_a_page(text: str) -> None:
    markup = to_html(text)
    reader = read(markup)
    assert all(map(is_safe, reader.links))
    if markup.strip():  # another parser sees the same: one root of our own holds all of it
        assert len(html.fragments_fromstring(f"<div>{markup}</div>")) == 1


@pytest.mark.parametrize(
    "address", ["http://a.example", "HTTPS://a.example/x?y=1#z", "/tihais", "x.html", "../x", "#top", "?raga=desh"]
)
def test_links_lead_by_http_or_to_places_of_the_same_site(address: str) -> None:
    assert is_safe(address)
    assert read(to_html(f"[words]({address})")).text.strip() == "words"


@pytest.mark.parametrize(
    ("notes", "expected"),
    [
        ("***strong emph***", "<p><em><strong>strong emph</strong></em></p>"),  # example 418
        ("`` foo ` bar ``", "<p><code>foo ` bar</code></p>"),  # example 329
        ("> # Foo\n> bar\n> baz", "<blockquote>\n<h3>Foo</h3>\n<p>bar\nbaz</p>\n</blockquote>"),  # 228, its level ours
        ("2. a\n3. b", '<ol start="2">\n<li>a</li>\n<li>b</li>\n</ol>'),  # like example 265
        ("foo  \nbaz", "<p>foo<br>\nbaz</p>"),  # example 633
        ("<a><bab><c2c>", "<p>&lt;a&gt;&lt;bab&gt;&lt;c2c&gt;</p>"),  # 613, as text: no HTML is taken
    ],
)
def test_common_markdown_is_read_as_its_specification_says(notes: str, expected: str) -> None:
    assert to_html(notes).strip() == expected


def test_headings_go_down_one_level_at_a_time_beneath_the_chapter() -> None:
    notes = "### a\n# b\n##### c\n## d\n#\n# e"
    assert read(to_html(notes)).levels == [3, 3, 4, 4, 3]
    assert read(to_html("# a\n## b", beneath=4)).levels == [5, 6]


def test_a_picture_and_a_link_without_words_are_links_that_say_where_they_lead() -> None:
    reader = read(to_html("![the neck](/neck.png) [](http://a.example) [![in](/i.png)](/x) ![](/y.png)"))
    assert reader.links == ["/neck.png", "http://a.example", "/x", "/y.png"]
    assert reader.text.split() == ["the", "neck", "http://a.example", "in", "/y.png"]


def test_away_from_the_dashboard_links_to_its_places_are_words() -> None:
    reader = read(to_html("[a](/tihais) ![b](n.png) [![c](n.png)](x) [d](https://a.example)", at_home=False))
    assert reader.links == ["https://a.example"]
    assert reader.text.split() == ["a", "b", "c", "d"]


def test_a_table_is_set_without_styles_and_its_empty_headings_are_cells() -> None:
    table = html.fragment_fromstring(to_html("| | laya |\n|:--|--:|\n| gat | 120 |"))
    assert [each.tag for each in table.findall("thead/tr/*")] == ["td", "th"]
    assert [each.get("class") for each in table.findall("tbody/tr/td")] == ["to-left", "to-right"]


@pytest.mark.parametrize(
    "notes",
    ["[" * 20_000, "> " * 10_000, "*a " * 6_000, "`" * 20_000, "<" * 20_000, "[a](" * 5_000, "|a" * 9_000 + "\n|-"],
)
def test_long_notes_made_to_take_long_are_rendered_within_seconds(notes: str) -> None:
    begun = time.process_time()
    read(to_html(notes))
    assert time.process_time() - begun < 5
