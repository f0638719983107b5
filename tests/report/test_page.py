import base64
import gzip
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import polars as pl
import pytest

from startworthy.findings import Answer, Question, Reason
from startworthy.report import write_report
from startworthy.report.cells import MOST_ROWS
from startworthy.report.files_view import MOST_COLUMNS, MOST_FILES, MOST_KINDS
from startworthy.report.view import MOST_ZOOMS
from startworthy.results import Checked
from tests.support import checked as made


class Reader(HTMLParser):
    """A page as elements, with the text of each script and what stands outside of them."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[tuple[dict[str, str | None], str]] = []
        self.text = ""
        self._in: str | None = None
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self._in = tag if tag in {"script", "style"} else None
        if tag == "script":
            self.scripts.append((dict(attrs), ""))

    def handle_endtag(self, tag: str) -> None:
        self._in = None
        self.text += "" if tag in {"a", "span", "strong", "code"} else " "

    @property
    def words(self) -> str:
        """The text with single spaces."""
        return re.sub(r"\s+", " ", self.text)

    def handle_data(self, data: str) -> None:
        if self._in == "script":
            self.scripts[-1] = (self.scripts[-1][0], self.scripts[-1][1] + data)
        elif self._in is None:
            self.text += data

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


def _pages(checked: Checked, folder: Path, **more: object) -> dict[str, str]:
    written = write_report(checked, folder, formats={"html"}, **more)  # type: ignore[arg-type]
    return {path.name: path.read_text(encoding="utf-8") for path in written if path.suffix == ".html"}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    from startworthy import words

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(words, "_check", made.check_words)
        return _pages(made.three_sets(), tmp_path_factory.mktemp("pages"))


@pytest.fixture(scope="module")
def page(pages: dict[str, str]) -> str:
    return pages["HILL-01.html"]


def test_the_first_screen_says_what_matters(page: str) -> None:
    text = Reader(page).words
    first = text[: text.index("What was found")]
    for piece in (
        "HILL-01", "Hill pump station", "Europe/Zurich",
        "Will it start? No Something was found that can keep it from starting. Battery sags to 8.77 V while cranking",
        "Will it carry the load? Unknown This log cannot show its output: the log has no voltage.",
        "Can this log be trusted? Yes",
        "Do this first Load-test the battery at its own temperature.",
    ):  # fmt: skip
        assert piece in first


def test_a_finding_tells_value_limit_basis_source_when_and_what_to_do(page: str) -> None:
    text = Reader(page).words
    finding = text[text.index("Urgent Battery sags") : text.index("Plan a visit Battery rests")]
    for piece in (
        "When 2026-02-24 10:02",
        "Seen 8.77 V",
        "Limit not below 9.1 V (12 V battery, at -2 °C)",
        "published: battery load-test table (BCI)",
        "battery.crank_sag",
        "What to do",
        "Caution Batteries give off explosive gas",
    ):
        assert piece in finding


def test_not_looked_at_and_clear_are_both_told(page: str) -> None:
    text = Reader(page).words
    assert "oil.low Rows come every 60 s; this needs a row every 10 s or closer." in text
    assert "start.failed Looked at 17 of them." in text


def test_figures_that_the_log_cannot_show_say_so(page: str) -> None:
    text = Reader(page).words
    assert "Crank attempts at least 17; rows are too far apart to count them all" in text
    assert "Share of the time that rows cover 99.1 %" in text


def test_how_the_file_was_read_is_told(page: str) -> None:
    text = Reader(page).words
    assert "100 rows read: 97 accepted, 2 refused, 1 repeated. 5 single values emptied." in text
    assert "°C (not stated; told from the values)" in text
    assert "Spare 1 not used no known signal" in text
    assert "Rated frequency 50.0 Hz: 50.1 Hz while running (median)" in text


def test_the_policy_lets_only_the_pages_own_scripts_and_style_run(pages: dict[str, str]) -> None:
    for name, page in pages.items():
        read = Reader(page)
        policy = next(m["content"] for m in read.named("meta") if m.get("http-equiv") == "Content-Security-Policy")
        assert policy is not None
        rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
        assert rules["default-src"] == "'none'"
        assert "unsafe-inline" not in rules.get("script-src", "") + rules["style-src"]
        assert "unsafe-eval" not in policy
        run = [text for attrs, text in read.scripts if attrs.get("type") is None]
        assert len(run) == (0 if name == "index.html" else 1)
        style = page[page.index("<style>") + 7 : page.index("</style>")]
        for rule, texts in (("script-src", run), ("style-src", [style])):
            for text in texts:
                assert f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" in rules[rule]


def test_the_packed_library_is_the_text_that_the_policy_allows(page: str) -> None:
    packed = next(text for attrs, text in Reader(page).scripts if attrs.get("id") == "chart-library")
    source = gzip.decompress(base64.b64decode(packed))
    assert b"plotly.js" in source[:200]
    assert base64.b64encode(hashlib.sha256(source).digest()).decode() in page


def test_nothing_is_fetched_from_anywhere(pages: dict[str, str]) -> None:
    for page in pages.values():
        assert not re.search(r"https?://", page)
        read = Reader(page)
        assert not read.named("link") + read.named("img") + read.named("iframe")
        assert all("src" not in attrs for _, attrs in read.elements)
        for link in read.named("a"):
            assert re.fullmatch(r"#[\w-]+|[\w.%-]+\.html", link["href"] or "")


def test_headings_go_down_one_step_at_a_time_and_ids_are_single(pages: dict[str, str]) -> None:
    for page in pages.values():
        read = Reader(page)
        levels = [int(tag[1]) for tag, _ in read.elements if re.fullmatch(r"h[1-6]", tag)]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(after - before <= 1 for before, after in pairwise(levels))
        ids = [attrs["id"] for _, attrs in read.elements if "id" in attrs]
        assert len(ids) == len(set(ids))
        targets = [link["href"] for link in read.named("a") if (link["href"] or "").startswith("#")]
        assert {target[1:] for target in targets if target} <= set(ids)
        for _, attrs in read.elements:
            for name in ("aria-labelledby", "aria-describedby"):
                assert name not in attrs or attrs[name] in ids


def test_tables_have_captions_and_scopes_and_charts_have_words(pages: dict[str, str]) -> None:
    for page in pages.values():
        read = Reader(page)
        assert len(read.named("table")) == len(read.named("caption"))
        assert all(attrs.get("scope") in {"col", "row"} for attrs in read.named("th"))
    charts = [attrs for attrs in Reader(pages["HILL-01.html"]).named("div") if attrs.get("class") == "chart"]
    assert len(charts) == 6 + 7
    for chart in charts:
        words = re.search(rf'id="words-{chart["id"]}">([^<]+)<', pages["HILL-01.html"])
        assert words is not None
        assert re.search(r"\d", words[1])


def test_what_a_log_says_stays_text(tmp_path: Path) -> None:
    name = f"EVIL{made.INJECTED}"
    checked = made.together(
        made.result(
            name, site=made.INJECTED, own=made.known(name, made.INJECTED, inferred={"rated_kw": made.INJECTED})
        ),
        logbooks=[made.book(name, alarm=made.INJECTED)],
        frames=[made.readings_frame(name)],
        files=(made.file_read((name,), path=made.INJECTED, header=made.INJECTED),),
        refused=made.refused_frame(made.INJECTED, value=made.INJECTED),
    )
    pages = _pages(checked, tmp_path)
    assert len(pages) == 2
    for file, page in pages.items():
        assert re.fullmatch(r"[A-Za-z0-9._-]+", file)
        read = Reader(page)
        assert "img" not in {tag for tag, _ in read.elements}
        assert not any(key.startswith("on") for _, attrs in read.elements for key in attrs)
        assert not any("alert" in text for attrs, text in read.scripts if attrs.get("type") is None)
        assert made.INJECTED in read.text
        assert "49" not in re.findall(r"EVIL.{0,120}", read.text)[0]


def test_a_name_that_would_leave_the_folder_does_not(tmp_path: Path) -> None:
    checked = made.together(made.result("../../away"), made.result("index"), logbooks=[made.book("../../away"), made.book("index")], frames=[])  # fmt: skip
    _pages(checked, tmp_path / "out")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    names = sorted(path.name for path in (tmp_path / "out").glob("*.html"))
    assert names[0] == "away.html"
    assert re.fullmatch(r"index-[0-9a-f]{8}\.html", names[1])
    assert names[2] == "index.html"


@pytest.mark.parametrize(("rows", "cut"), [(MOST_ROWS, False), (MOST_ROWS + 1, True)])
def test_a_table_that_is_cut_says_how_much_there_is(tmp_path: Path, rows: int, cut: bool) -> None:
    checked = replace(made.one_set(), logbook=made.book("HILL-01", marks=rows))
    text = Reader(_pages(checked, tmp_path)["HILL-01.html"]).text
    said = f"The last {MOST_ROWS} of {rows}; all in logbook/marks.csv, written with --format csv."
    assert (said in text) is cut
    assert (f"All {rows} shown." in text) is not cut
    written = write_report(checked, tmp_path, formats={"html", "csv"})
    again = next(path for path in written if path.name == "HILL-01.html").read_text(encoding="utf-8")
    assert (f"The last {MOST_ROWS} of {rows}; all in logbook/marks.csv." in Reader(again).text) is cut


def test_a_column_of_which_the_log_shows_nothing_is_left_out_and_named(tmp_path: Path) -> None:
    page = _pages(made.one_set(), tmp_path)["HILL-01.html"]
    starts = page[page.index('<table class="starts">') : page.index('<table class="runs">')]
    assert "The log shows nothing of: Ready after." in starts
    assert '<th scope="col">Ready after</th>' not in starts
    assert '<th scope="col">Lowest</th>' in starts


def test_files_columns_and_refusals_that_are_cut_say_how_many_there_are(tmp_path: Path) -> None:
    kinds = pl.concat(
        [
            made.refused_frame(value="1").with_columns(reason=pl.format("reason {}", pl.lit(n)))
            for n in range(MOST_KINDS)
        ]
    )
    checked = made.together(
        made.result("HILL-01"),
        logbooks=[made.book("HILL-01")],
        frames=[],
        files=tuple(made.file_read(("HILL-01",), columns=MOST_COLUMNS) for _ in range(MOST_FILES + 1)),
        refused=kinds,
    )
    text = Reader(_pages(checked, tmp_path)["HILL-01.html"]).text
    assert f"The first {MOST_FILES} of {MOST_FILES + 1} files" in text
    assert f"The first {MOST_COLUMNS} of {MOST_COLUMNS + 4} columns." in text
    assert f"The first {MOST_KINDS} of {3 * MOST_KINDS} kinds; all in refused.csv." in text


def test_only_so_many_moments_are_drawn_and_the_rest_is_said(tmp_path: Path) -> None:
    many = made.findings() * 3
    checked = made.together(made.result("HILL-01", found=many), logbooks=[made.book("HILL-01")], frames=[made.readings_frame("HILL-01")])  # fmt: skip
    page = _pages(checked, tmp_path)["HILL-01.html"]
    assert len(re.findall(r'class="chart" id="moment-', page)) == MOST_ZOOMS
    assert f"Only the first {MOST_ZOOMS} of {len(many)} findings carry a chart" in Reader(page).text
    assert len(Reader(page).named("article")) == len(many)


def test_a_healthy_set_says_what_that_stands_on_and_an_open_question_comes_first(pages: dict[str, str]) -> None:
    text = Reader(pages["BROOK-02.html"]).words
    assert "None of the checks found anything wrong." in text
    assert "Nothing wrong was found, but 1 of 5 questions could not be answered. The log has no voltage." in text


def test_with_every_question_answered_nothing_needs_doing(tmp_path: Path) -> None:
    result = replace(made.result("HILL-01", found=()), answers=dict.fromkeys(Question, Answer.YES), not_assessed=())
    checked = made.together(result, logbooks=[made.book("HILL-01")], frames=[])
    text = Reader(_pages(checked, tmp_path)["HILL-01.html"]).text
    assert "Nothing needs doing now." in text
    assert "Every check could be made." in text


def test_a_check_that_failed_inside_is_told_as_not_made(tmp_path: Path) -> None:
    result = made.result("HILL-01")
    failed = tuple(replace(o, reason=Reason.INTERNAL_ERROR, evidence={"what": "KeyError"}) for o in result.not_assessed)
    checked = made.together(replace(result, not_assessed=failed), logbooks=[made.book("HILL-01")], frames=[])
    text = Reader(_pages(checked, tmp_path)["HILL-01.html"]).text
    assert "This check failed inside the program (KeyError); the others were made." in text


def test_limits_of_the_register_are_shown_with_the_default(tmp_path: Path) -> None:
    own = made.known("HILL-01", own_limits={"coolant_high_c": 95.0})
    checked = made.together(made.result("HILL-01", own=own), logbooks=[made.book("HILL-01")], frames=[])
    text = Reader(_pages(checked, tmp_path)["HILL-01.html"]).words
    assert "coolant high (coolant_high_c) 100 °C 95 °C from the register" in text


def test_american_units_reach_the_whole_page(tmp_path: Path) -> None:
    text = Reader(_pages(made.one_set(), tmp_path, units="us")["HILL-01.html"]).text
    assert "US gal" in text
    assert "not above 212 °F" in text
    assert "°C" not in text.replace("at -2 °C", "").replace("°C (not stated", "")


def test_the_page_over_all_sets_is_worst_first_and_leads_to_each(pages: dict[str, str]) -> None:
    read = Reader(pages["index.html"])
    assert [link["href"] for link in read.named("a")] == ["HILL-01.html", "BROOK-02.html", "CREST-03.html"]
    text = read.words
    assert (
        "3 sets: 1 with something urgent, 0 that need a visit planned, 3 where the log leaves a question open." in text
    )
    assert "Urgent Battery sags to 8.77 V while cranking" in text


def test_a_page_without_the_drawing_library_is_light(page: str) -> None:
    read = Reader(page)
    packed = next(text for attrs, text in read.scripts if attrs.get("id") == "chart-library")
    assert len(page) - len(packed) < 300_000


def test_the_figures_in_a_page_are_json_that_cannot_end_their_element(page: str) -> None:
    figures = [(attrs, text) for attrs, text in Reader(page).scripts if (attrs.get("id") or "").startswith("data-")]
    assert len(figures) == 13
    for _, text in figures:
        assert "<" not in text
        assert set(json.loads(text)) == {"data", "layout"}


def test_the_report_is_the_same_bytes_twice(tmp_path: Path) -> None:
    one = _pages(made.one_set(), tmp_path / "one")
    other = _pages(made.one_set(), tmp_path / "other")
    assert one == other


def test_the_policy_stands_before_all_else(pages: dict[str, str]) -> None:
    for name, page in pages.items():
        head = page[page.index("<head>") :]
        assert re.match(
            r'<head>\s*<meta http-equiv="Content-Security-Policy" content="default-src [^"]+">\s*<meta charset', head
        )
        # a browser looks for the encoding in the first 1024 bytes (HTML standard, 13.2.3.2)
        assert page.encode().index(b'<meta charset="utf-8">') < 1000
        policy = Reader(page).named("meta")[0]["content"] or ""
        rules = [rule.split()[0] for rule in policy.split(";")]
        assert rules == ["default-src", "base-uri", "form-action", "style-src"] + ["script-src"] * (
            name != "index.html"
        )
        assert "unsafe" not in policy
        assert "data:" not in policy
        assert {"name": "referrer", "content": "no-referrer"} in Reader(page).named("meta")


def test_a_figure_that_json_does_not_have_is_a_hole(tmp_path: Path) -> None:
    checked = made.one_set()
    days = checked.logbook.days.with_columns(
        rest_battery_v=pl.when(pl.col("day").dt.day() == 9).then(float("inf")).otherwise("rest_battery_v")
    )
    page = _pages(replace(checked, logbook=replace(checked.logbook, days=days)), tmp_path)["HILL-01.html"]
    rest = next(text for attrs, text in Reader(page).scripts if attrs.get("id") == "data-rest")
    values = json.loads(rest)["data"][0]["y"]
    assert values[:7] == [13.4, 13.4, 13.4, 13.4, 13.4, 13.4, None]


def test_the_library_is_packed_and_summed_once() -> None:
    from startworthy.report.library import library

    before = library.cache_info().misses
    assert library() is library()
    assert library.cache_info().misses <= max(before, 1)
