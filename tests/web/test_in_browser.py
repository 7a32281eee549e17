"""The page in a real Chromium: sizes, themes, keyboard, contrast, sideways scroll."""

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from lugbook import actions
from lugbook.web.app import serving
from lugbook.web.rendering import PAGES

pytestmark = pytest.mark.browser

FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 800}
NARROWEST = {"width": 320, "height": 640}
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
DEMO = Path(__file__).parents[2] / "examples" / "potters_house" / "plan.toml"


def _chromium() -> str:
    """Return where Chromium is; without it skip, but fail where CI is set."""
    found = shutil.which("chromium")
    if found is None:
        words = "Chromium is not installed, so the page was not tried in a browser."
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = _chromium()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=path, chromium_sandbox=False, args=FLAGS
        )
        yield browser
        browser.close()


class Visit:
    """One page in one browser window, with everything its console complained of."""

    def __init__(self, browser: Browser, **settings: Any) -> None:
        self.context = browser.new_context(**settings)
        self.page: Page = self.context.new_page()
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda said: self.complaints.append(said.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.set_default_timeout(10_000)

    def __enter__(self) -> "Visit":
        return self

    def __exit__(self, *_: object) -> None:
        self.context.close()

    def sideways_px(self) -> int:
        return int(
            self.page.evaluate(
                "document.documentElement.scrollWidth"
                " - document.documentElement.clientWidth"
            )
        )

    def open_all(self) -> None:
        self.page.evaluate(
            "document.querySelectorAll('details').forEach((one) => one.open = true)"
        )


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_page_opens_without_complaint_and_asks_only_us(
    browser: Browser, shown: str, size: dict[str, int], theme: Any
) -> None:
    with Visit(browser, viewport=size, color_scheme=theme) as visit:
        visit.page.goto(shown)
        expect(visit.page.locator(".outcome")).to_have_text("falls short")
        assert visit.complaints == []
        assert visit.asked
        assert all(address.startswith(shown) for address in visit.asked)
        assert visit.page.evaluate("document.fonts.check('16px \"Source Sans\"')")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 360, 412, 1280])
def test_axe_finds_nothing(
    browser: Browser, shown: str, width: int, theme: Any
) -> None:
    with Visit(
        browser, viewport={"width": width, "height": 800}, color_scheme=theme
    ) as visit:
        visit.page.goto(shown)
        _axe(visit)
        visit.open_all()
        _axe(visit)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("path", ["nothing", "?setting=33", "?edition=2023"])
def test_axe_finds_nothing_on_pages_of_errors_and_faults(
    browser: Browser, shown: str, plan: Path, path: str, theme: Any
) -> None:
    if "edition" in path:
        plan.write_text('schema = 1\nnmae = ""\n[rules]\nedtion = 1', encoding="utf-8")
    with Visit(browser, viewport=NARROWEST, color_scheme=theme) as visit:
        visit.page.goto(shown + path)
        _axe(visit)
        assert visit.sideways_px() == 0


def _axe(visit: Visit) -> None:
    options = {
        "runOnly": {"type": "tag", "values": TAGS},
        "rules": {"color-contrast-enhanced": {"enabled": True}},
    }
    visit.page.evaluate("document.fonts.ready")  # else it measures other letters
    results = Axe().run(visit.page, options=options).response
    found = {
        rule["id"]: [node["html"] for node in rule["nodes"]]
        for rule in results["violations"]
    }
    assert found == {}
    ran = {rule["id"] for kind in ("passes", "incomplete") for rule in results[kind]}
    assert {"target-size", "color-contrast-enhanced", "html-has-lang"} <= ran
    # Behind words in a drawing axe cannot see the paper; the next test measures those.
    left_open = [
        (rule["id"], node["html"])
        for rule in results["incomplete"]
        for node in rule["nodes"]
        if not node["html"].startswith("<text ")
    ]
    assert left_open == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_words_marks_and_edges_stand_out_from_their_paper(
    browser: Browser, shown: str, theme: Any
) -> None:
    with Visit(browser, viewport=DESKTOP, color_scheme=theme) as visit:
        visit.page.goto(shown)
        paper = _rgb(_paper(visit.page))
        for selector, rule, least in (
            ("svg.plot:visible text", "fill", 7.0),
            ("svg.plot:visible .dot", "stroke", 4.5),
            ("svg.plot:visible .limit", "stroke", 4.5),
            (".mark .rule", "stroke", 4.5),
            (".mark .dot", "fill", 4.5),
            ("select, button:visible", "borderTopColor", 4.5),
        ):
            colours = visit.page.locator(selector).evaluate_all(
                f"(all) => all.map((one) => getComputedStyle(one).{rule})"
            )
            assert colours
            assert min(_contrast(_rgb(one), paper) for one in colours) >= least


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(part) / 255 for part in re.findall(r"\d+", colour)[:3])
    return red, green, blue


def _contrast(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """WCAG 2.2, definition of contrast ratio and of relative luminance."""

    def luminance(colour: tuple[float, ...]) -> float:
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    "width", [320, 360, 383, 384, 390, 640, 767, 768, 1023, 1024, 1280]
)
def test_nothing_scrolls_sideways_with_every_working_open(
    browser: Browser, shown: str, width: int
) -> None:
    with Visit(browser, viewport={"width": width, "height": 640}) as visit:
        visit.page.goto(shown)
        assert visit.sideways_px() == 0
        visit.open_all()
        assert visit.sideways_px() == 0


def test_targets_on_a_phone_are_at_least_48_px(browser: Browser, shown: str) -> None:
    with Visit(browser, viewport={"width": 360, "height": 740}) as visit:
        visit.page.goto(shown)
        visit.open_all()
        controls = visit.page.locator("summary, button, select, input, nav a")
        boxes = [box for one in controls.all() if (box := one.bounding_box())]
        assert len(boxes) > 10
        assert min(box["height"] for box in boxes) >= 48
        assert min(box["width"] for box in boxes) >= 48


def test_a_working_opens_and_closes_by_keyboard(browser: Browser, shown: str) -> None:
    with Visit(browser, viewport=DESKTOP) as visit:
        page = visit.page
        page.goto(shown)
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.localName") == "summary":
                break
        expect(page.locator("summary:focus")).to_have_count(1)
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px"
        sheet = page.locator("details:has(summary:focus) .sheet")
        expect(sheet).to_be_hidden()
        page.keyboard.press("Enter")
        expect(sheet).to_be_visible()
        expect(sheet).to_contain_text("80 A × 240 V")
        page.keyboard.press("Space")
        expect(sheet).to_be_hidden()


def test_the_first_tab_stop_leads_past_the_head(browser: Browser, shown: str) -> None:
    with Visit(browser, viewport=PHONE) as visit:
        visit.page.goto(shown)
        visit.page.keyboard.press("Tab")
        visit.page.keyboard.press("Enter")
        expect(visit.page.locator("main:focus")).to_have_count(1)


@pytest.mark.parametrize("scripts", [True, False])
def test_the_form_asks_for_another_setting_and_edition(
    browser: Browser, shown: str, scripts: bool
) -> None:
    with Visit(browser, viewport=PHONE, java_script_enabled=scripts) as visit:
        page = visit.page
        page.goto(shown)
        page.get_by_label("Charger setting").select_option("32")
        page.get_by_label("Edition of NFPA 70").select_option("2020")
        page.get_by_role("button", name="Show").click()
        expect(page).to_have_url(re.compile(r"\?setting=32&edition=2020$"))
        expect(page.locator(".facts")).to_contain_text("32 A")
        expect(page.locator(".facts-margin")).to_contain_text("2020 edition")
        expect(page.get_by_label("Charger setting")).to_have_value("32")
        assert visit.complaints == []


def test_the_theme_switch_is_remembered_and_follows_the_system_again(
    browser: Browser, shown: str
) -> None:
    with Visit(browser, viewport=PHONE, color_scheme="light") as visit:
        page = visit.page
        page.goto(shown)
        light = _paper(page)
        page.get_by_role("button", name="Dark page").click()
        dark = _paper(page)
        assert dark != light
        page.reload()
        assert _paper(page) == dark
        page.get_by_role("button", name="Light page").click()
        assert _paper(page) == light
        page.emulate_media(color_scheme="dark")
        assert _paper(page) == dark


def test_without_script_there_is_no_switch_and_the_system_theme_holds(
    browser: Browser, shown: str
) -> None:
    with Visit(
        browser, viewport=PHONE, color_scheme="dark", java_script_enabled=False
    ) as visit:
        visit.page.goto(shown)
        expect(visit.page.locator("[data-theme-switch]")).to_be_hidden()
        visit.page.locator("summary").first.click()
        expect(visit.page.locator(".sheet").first).to_be_visible()


def _paper(page: Page) -> str:
    return str(page.evaluate("getComputedStyle(document.body).backgroundColor"))


def test_print_is_on_white_without_controls_and_with_every_working(
    browser: Browser, shown: str
) -> None:
    with Visit(browser, viewport=DESKTOP, color_scheme="dark") as visit:
        page = visit.page
        page.goto(shown)
        page.emulate_media(media="print")
        assert _paper(page) == "rgb(255, 255, 255)"
        expect(page.get_by_role("button", name="Show")).to_be_hidden()
        page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        expect(page.locator("details:not([open])")).to_have_count(0)
        page.evaluate("window.dispatchEvent(new Event('afterprint'))")
        expect(page.locator("details[open]")).to_have_count(0)


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_only_one_of_the_two_plots_is_drawn_and_its_words_are_large_enough(
    browser: Browser, shown: str, size: dict[str, int]
) -> None:
    with Visit(browser, viewport=size) as visit:
        visit.page.goto(shown)
        drawn = visit.page.locator("svg.plot:visible")
        expect(drawn).to_have_count(1)
        heights = visit.page.locator("svg.plot:visible text").evaluate_all(
            "(all) => all.map((one) => one.getBoundingClientRect().height)"
        )
        # A line box of Source Sans is about 1.25 of its type size: 15 is 12 px type.
        assert min(heights) >= 15


@pytest.mark.parametrize("size", [NARROWEST, DESKTOP], ids=["phone", "desktop"])
def test_the_words_of_a_plot_stay_inside_it_and_apart(
    browser: Browser, shown: str, size: dict[str, int]
) -> None:
    with Visit(browser, viewport=size) as visit:
        visit.page.goto(shown)
        plot = visit.page.locator("svg.plot:visible")
        frame = plot.bounding_box()
        assert frame is not None
        boxes = plot.locator("text").evaluate_all(
            "(all) => all.map((one) => {"
            " const box = one.getBoundingClientRect();"
            " return [box.left, box.top, box.right, box.bottom]; })"
        )
        left = float(visit.page.evaluate("window.scrollX")) + frame["x"]
        assert all(box[0] >= left - 1 for box in boxes)
        assert all(box[2] <= left + frame["width"] + 1 for box in boxes)
        for index, one in enumerate(boxes):
            for other in boxes[index + 1 :]:
                wide = min(one[2], other[2]) - max(one[0], other[0])
                # Line boxes of lines below each other may share their empty edges.
                high = min(one[3], other[3]) - max(one[1], other[1])
                assert wide <= 0 or high <= 4


@pytest.mark.parametrize("size", [NARROWEST, DESKTOP], ids=["phone", "desktop"])
def test_the_demo_house_opens_without_complaint(
    browser: Browser, size: dict[str, int]
) -> None:
    with serving(DEMO) as address, Visit(browser, viewport=size) as visit:
        visit.page.goto(address)
        expect(visit.page.locator("h1")).to_have_text("The potter's house (invented)")
        visit.open_all()
        assert visit.sideways_px() == 0
        assert visit.complaints == []
        _axe(visit)


@pytest.fixture(scope="module")
def demo_shown() -> Iterator[str]:
    with serving(DEMO) as address:
        yield address.rstrip("/")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("path", [address for address, _ in PAGES if address != "/"])
def test_every_other_page_is_fit_for_a_phone_and_for_axe(
    browser: Browser, demo_shown: str, path: str, theme: Any
) -> None:
    for width in (320, 1280):
        with Visit(
            browser, viewport={"width": width, "height": 800}, color_scheme=theme
        ) as visit:
            visit.page.goto(demo_shown + path)
            _axe(visit)
            assert visit.sideways_px() == 0
            visit.open_all()
            _axe(visit)
            assert visit.sideways_px() == 0
            assert visit.complaints == []
            marked = visit.page.locator("nav [aria-current=page]")
            expect(marked).to_have_attribute("href", path)


def test_compared_pages_are_fit_for_axe(browser: Browser, demo_shown: str) -> None:
    with Visit(browser, viewport=PHONE) as visit:
        visit.page.goto(f"{demo_shown}/compare?setting_b=32&edition_b=2026")
        visit.open_all()
        _axe(visit)
        assert visit.sideways_px() == 0


def test_what_is_being_tried_is_said_until_the_rest_has_come(
    browser: Browser, plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    come = Event()
    real = actions.what_would_change

    def waits(*given: Any, **named: Any) -> Any:
        assert come.wait(20)
        return real(*given, **named)

    monkeypatch.setattr(actions, "what_would_change", waits)
    with (
        serving(plan) as address,
        Visit(browser, viewport=PHONE, java_script_enabled=False) as visit,
    ):
        page = visit.page
        page.goto(f"{address}what-if", wait_until="commit")
        expect(page.locator(".waiting")).to_be_visible()
        expect(page.get_by_role("button", name="Show")).to_be_visible()
        come.set()
        expect(page.get_by_role("heading", name="In short")).to_be_visible()
        expect(page.locator(".waiting")).to_be_hidden()


def test_the_pages_are_reached_by_keyboard_and_the_present_one_is_marked(
    browser: Browser, shown: str
) -> None:
    with Visit(browser, viewport=PHONE) as visit:
        page = visit.page
        page.goto(shown)
        present = page.locator("nav[aria-label=Pages] [aria-current=page]")
        expect(present).to_have_text("Check")
        page.get_by_role("link", name="Compare").focus()
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px"
        page.keyboard.press("Enter")
        expect(present).to_have_text("Compare")


def test_nothing_that_stops_or_must_be_done_is_folded(
    browser: Browser, shown: str
) -> None:
    with Visit(browser, viewport=PHONE) as visit:
        visit.page.goto(shown)
        for id in ("invented-conductor", "invented-capacity", "invented-fault-current"):
            expect(visit.page.locator(f"#finding-{id} h3")).to_be_visible()
        expect(visit.page.locator("#finding-invented-disconnect h3")).to_be_hidden()


def test_without_script_print_opens_what_is_folded(
    browser: Browser, shown: str
) -> None:
    with Visit(browser, viewport=DESKTOP, java_script_enabled=False) as visit:
        visit.page.goto(shown)
        folded = visit.page.locator("#finding-invented-disconnect h3")
        expect(folded).to_be_hidden()
        visit.page.emulate_media(media="print")
        expect(folded).to_be_visible()
        box = folded.bounding_box()
        assert box is not None
        assert box["height"] > 10
