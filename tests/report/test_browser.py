"""The pages in a real browser, opened from disk: what a reader sees, at the widths and on the paper they use."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from startworthy import words
from startworthy.report import write_report
from tests.support import checked as made
from tests.support.browser import open_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

WIDTHS = [320, 360, 768, 1440, 3840]
CHARTS = 6 + 7


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    evil = made.together(
        made.result(made.INJECTED, site=made.INJECTED),
        made.result("HILL-01"),
        made.result("BROOK-02", found=()),
        logbooks=[made.book(made.INJECTED, alarm=made.INJECTED), made.book("HILL-01"), made.book("BROOK-02")],
        frames=[made.readings_frame(made.INJECTED), made.readings_frame("BROOK-02"), made.readings_frame("HILL-01")],
        files=(made.file_read(("HILL-01", made.INJECTED), path=made.INJECTED, header=made.INJECTED),),
        refused=made.refused_frame(made.INJECTED, value=made.INJECTED),
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(words, "_check", made.check_words)
        write_report(evil, folder, formats={"html"})
    return folder


def _evil(report: Path) -> Path:
    return next(path for path in report.glob("*.html") if "alert" in path.name)


@pytest.mark.parametrize("width", WIDTHS)
def test_a_sets_page_draws_all_and_asks_for_nothing(browser: Browser, report: Path, width: int) -> None:
    with open_page(browser, report / "HILL-01.html", width=width) as opened:
        assert opened.draw_all() == CHARTS
        empty = opened.page.evaluate(
            """() => [...document.querySelectorAll('.chart')].filter((chart) =>
                 !chart.querySelector('.scatterlayer .points path, .scatterlayer .lines path, .barlayer path')).map((c) => c.id)"""
        )
        assert empty == [], "every chart draws its points"
        wide = opened.page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert wide[0] <= wide[1], "the page itself never scrolls sideways"
        assert opened.complaints == []
        assert [url for url in opened.requests if not url.startswith("file:")] == []
        assert len(opened.requests) == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_over_all_sets_fits_and_leads_on(browser: Browser, report: Path, width: int) -> None:
    with open_page(browser, report / "index.html", width=width) as opened:
        wide = opened.page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert wide[0] <= wide[1]
        opened.page.get_by_role("link", name="HILL-01").click()
        assert opened.page.locator("h1").inner_text().startswith("HILL-01")
        assert opened.complaints == []


def test_on_a_phone_the_first_screen_holds_the_answers_and_what_to_do_first(browser: Browser, report: Path) -> None:
    with open_page(browser, report / "HILL-01.html", width=390) as opened:
        opened.page.set_viewport_size({"width": 390, "height": 844})
        for place in (".answers", ".deed"):
            box = opened.page.locator(place).bounding_box()
            assert box is not None
            assert box["y"] + box["height"] <= 844
        answers = opened.page.locator(".answer").all_inner_texts()
        assert answers == ["No", "Unknown", "Doubtful", "Doubtful", "Yes"]


def test_nothing_is_drawn_before_it_is_looked_at(browser: Browser, report: Path) -> None:
    with open_page(browser, report / "HILL-01.html") as opened:
        opened.page.wait_for_function("() => window.Plotly")
        opened.page.wait_for_timeout(300)
        drawn = opened.page.locator(".chart[data-drawn]").count()
        assert 1 <= drawn < CHARTS / 2


def test_text_of_a_log_stays_text(browser: Browser, report: Path) -> None:
    with open_page(browser, _evil(report)) as opened:
        opened.draw_all()
        assert opened.complaints == []
        assert opened.page.locator("img").count() == 0
        assert (
            opened.page.evaluate("[...document.scripts].filter((s) => s.textContent.startsWith('alert')).length") == 0
        )
        assert opened.page.locator("h1").inner_text().startswith(made.INJECTED)
        assert opened.page.locator(".marks td", has_text=made.INJECTED).count() >= 1
        assert opened.page.locator(".columns th", has_text=made.INJECTED).count() == 1
        assert opened.requests == [_evil(report).as_uri()]


def test_a_script_that_got_in_would_not_run(browser: Browser, report: Path, tmp_path: Path) -> None:
    page = (report / "HILL-01.html").read_text(encoding="utf-8")
    file = tmp_path / "tampered.html"
    file.write_text(
        page.replace("</main>", "<script>window.ran = 1</script><img src=x onerror='window.ran = 2'></main>")
    )
    with open_page(browser, file) as opened:
        assert opened.page.evaluate("window.ran") is None
        assert any("Content Security Policy" in said for said in opened.complaints)


def test_on_paper_every_chart_is_there_in_ink_on_white(browser: Browser, report: Path, tmp_path: Path) -> None:
    with open_page(browser, report / "HILL-01.html", scheme="dark") as opened:
        opened.page.wait_for_function("() => window.Plotly")
        for paper in ("A4", "Letter"):
            data = opened.page.pdf(path=tmp_path / f"{paper}.pdf", format=paper)
            assert data.startswith(b"%PDF")
            assert 4 <= data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") + data.count(b"/Type/Page ") <= 40
        assert opened.page.locator(".chart[data-drawn]").count() == CHARTS
        assert opened.complaints == []
        opened.page.emulate_media(media="print")
        opened.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        assert (
            opened.page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
        )
        widest = opened.page.evaluate(
            "Math.max(...[...document.querySelectorAll('.chart svg')].map((s) => s.clientWidth))"
        )
        assert widest <= 680, "a chart fits between the margins of A4"


def _contrast(browser: Browser, file: Path, scheme: str) -> list[tuple[str, float]]:
    """Text and contrast ratio of each element that holds text (WCAG 2.2, 1.4.3: 4.5 at least)."""
    with open_page(browser, file, scheme=scheme) as opened:  # type: ignore[arg-type]
        opened.draw_all()
        return [
            (str(text), float(ratio))
            for text, ratio in opened.page.evaluate(
                """() => {
              const channels = (c) => (c.match(/[\\d.]+/g) || []).map(Number);
              const luminance = (c) => { const [r, g, b] = channels(c).map((v) => v / 255)
                .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
              const under = (e) => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
                if (channels(c)[3] !== 0) return c; } return 'rgb(255,255,255)'; };
              return [...document.querySelectorAll('body *')].filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())
                && !['SCRIPT', 'STYLE', 'NOSCRIPT'].includes(e.tagName) && e.getClientRects().length).map((e) => {
                  const ink = e.ownerSVGElement ? getComputedStyle(e).fill : getComputedStyle(e).color;
                  const [a, b] = [luminance(ink), luminance(under(e))].sort((x, y) => y - x);
                  return [e.textContent.trim().slice(0, 60), (a + 0.05) / (b + 0.05)]; });
            }"""
            )
        ]


@pytest.mark.published("WCAG 2.2, success criterion 1.4.3: contrast of text at least 4.5 to 1")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["HILL-01.html", "index.html"])
def test_all_text_can_be_read_in_light_and_dark(browser: Browser, report: Path, scheme: str, name: str) -> None:
    found = _contrast(browser, report / name, scheme)
    assert len(found) > 20
    assert [(text, round(ratio, 2)) for text, ratio in found if ratio < 4.5] == []


def test_every_control_can_be_reached_by_keyboard(browser: Browser, report: Path) -> None:
    with open_page(browser, report / "HILL-01.html") as opened:
        wanted = opened.page.evaluate(
            "[...document.querySelectorAll('a, [tabindex=\"0\"]')].filter((e) => !e.closest('.chart')).length"
        )
        reached = set()
        for _ in range(wanted + 2):
            opened.page.keyboard.press("Tab")
            reached.add(
                opened.page.evaluate(
                    "[...document.querySelectorAll('a, [tabindex=\"0\"]')].filter((e) => !e.closest('.chart')).indexOf(document.activeElement)"
                )
            )
        assert reached - {-1} == set(range(wanted))
        opened.page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")


def test_without_scripts_all_words_and_tables_are_there(browser: Browser, report: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((report / "HILL-01.html").as_uri())
    assert page.locator("noscript .note").first.inner_text().startswith("The charts of this page need scripts")
    assert page.locator("table.starts tbody tr").count() == 17
    context.close()


def test_a_library_that_cannot_be_unpacked_leaves_the_words(browser: Browser, report: Path, tmp_path: Path) -> None:
    page = (report / "HILL-01.html").read_text(encoding="utf-8")
    start = page.index(">", page.index('id="chart-library"')) + 1
    file = tmp_path / "broken.html"
    file.write_text(page[:start] + "AAAA" + page[page.index("</script>", start) :], encoding="utf-8")
    with open_page(browser, file) as opened:
        opened.page.locator(".chart").first.evaluate("chart => chart.scrollIntoView()")
        opened.page.wait_for_selector(".chart-failed")
        assert opened.page.locator(".chart").first.inner_text().startswith("This chart could not be drawn here")
