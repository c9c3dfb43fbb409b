"""The report in a browser: switches, width, keyboard, contrast, policy, paper; axe-core as judge."""

import shutil
import subprocess
from dataclasses import replace

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from samples_of_ours import from_d6673, recipe
from sleevewright import convert
from sleevewright.findings import Finding, Status
from sleevewright.writing.report import write_report

CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")

HOSTILE = '"><img src=x onerror="window.hit=1"><script>window.hit=1</script>'
LONG = "W" * 200


def renamed(result, name):
    """The result with a name for its first piece, its block, its recipe and in every finding."""
    first, *rest = result.pattern.pieces
    seams = tuple(
        replace(
            seam,
            first=tuple(replace(u, piece=name) if u.piece == first.name else u for u in seam.first),
            second=tuple(
                replace(u, piece=name) if u.piece == first.name else u for u in seam.second
            ),
        )
        for seam in result.pattern.seams
    )
    pattern = replace(result.pattern, pieces=(replace(first, name=name), *rest), seams=seams)
    rows = tuple(
        replace(row, name=name, edges=((name,), (name,)), status=Status.NOT_COMPUTED)
        for row in result.seam_rows[:2]
    )
    found = Finding("outline", Status.FAILED, name, f"{name}: fell short")
    return replace(
        result, block=name, recipe=name, size=name, settings=((name, name),), pattern=pattern,
        seam_rows=(*rows, *result.seam_rows[2:]), findings=(found, *result.findings),
        measurements=((name, 1.0), *result.measurements),
    )  # fmt: skip


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("reports")
    block = from_d6673("women_overblock")[0]
    tiered = convert(block, recipe("tiered-sleeve"))
    results = {
        "tiered": tiered,
        "one": convert(block, recipe("one-raglan")),
        "hostile": renamed(tiered, HOSTILE),
        "long": renamed(tiered, LONG),
    }
    urls = {}
    for name, result in results.items():
        path = folder / f"{name}.html"
        path.write_bytes(write_report(result))
        urls[name] = path.as_uri()
    return urls


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as play:
        started = play.chromium.launch(
            executable_path=CHROMIUM, headless=True, args=["--no-sandbox"]
        )
        yield started
        started.close()


@pytest.fixture
def opened(browser, pages):
    """Open a report; at the end of the test nothing may have been logged, asked for or fetched."""
    contexts, said, asked = [], [], []

    def open_page(name, **settings):
        context = browser.new_context(**settings)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(pages[name])
        return page

    open_page.said, open_page.asked = said, asked
    yield open_page
    for context in contexts:
        context.close()
    assert not said
    assert set(asked) <= set(pages.values())


def layers_seen(page):
    """Layer -> whether anything of it is drawn."""
    return page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('#switches input')].map(i => [
            i.value,
            [...document.querySelectorAll('.layer-' + i.value)].some(g => g.getClientRects().length)]))"""
    )


def test_each_switch_hides_its_layer_alone(opened):
    page = opened("tiered")
    every = layers_seen(page)
    assert set(every) == {"block", "cut", "sew", "notch", "grain", "text"}
    assert all(every.values())
    for layer in every:
        box = page.locator(f"#switches input[value={layer}]")
        box.uncheck()
        assert layers_seen(page) == {**every, layer: False}
        box.check()
        assert layers_seen(page) == every


def test_switches_work_by_label_and_by_keyboard(opened):
    page = opened("tiered")
    page.get_by_label("Cut line").focus()
    page.keyboard.press("Space")
    assert layers_seen(page)["cut"] is False
    page.locator("label", has_text="Notches").click()
    assert layers_seen(page)["notch"] is False
    assert page.get_by_role("group", name="Show").is_visible()


def test_it_reads_without_script(opened):
    page = opened("tiered", java_script_enabled=False)
    assert page.locator("#switches").is_hidden()
    for heading in ("Block and result", "Seam walk", "Findings", "Cutting list"):
        assert page.get_by_role("heading", name=heading, exact=True).is_visible()
    assert page.locator("#places .layer-cut").first.is_visible()


@pytest.mark.parametrize("name", ["tiered", "one", "hostile", "long"])
@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_nothing_runs_off_the_side(opened, name, width):
    page = opened(name, viewport={"width": width, "height": 740})
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    past = page.evaluate(
        """w => [...document.querySelectorAll('main *')].filter(e => !e.closest('svg, thead') &&
            e.getBoundingClientRect().right > w + 0.5).map(e => e.outerHTML.slice(0, 80))""",
        width,
    )
    assert past == []


def serious(page):
    found = Axe().run(page).response["violations"]
    return [v["id"] for v in found if v["impact"] in ("serious", "critical")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["tiered", "hostile"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_serious(opened, scheme, name, width):
    page = opened(name, color_scheme=scheme, viewport={"width": width, "height": 900})
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert serious(page) == []


def test_axe_would_find_it(opened):
    """The judge sees this page: a bad colour set by hand is found."""
    page = opened("tiered")
    page.evaluate("document.querySelector('.lead').style.color = '#dddddd'")
    assert "color-contrast" in serious(page)


def test_light_and_dark_differ(opened):
    colours = {
        scheme: opened("tiered", color_scheme=scheme).evaluate(
            "getComputedStyle(document.body).backgroundColor"
        )
        for scheme in ("light", "dark")
    }
    assert colours["light"] != colours["dark"]


def test_a_hostile_name_stays_text(opened):
    page = opened("hostile")
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
    assert page.locator("script").count() == 1
    # the tool writes the dots and underlines of a name as spaces
    said = HOSTILE.replace(".", " ")
    assert page.locator("figcaption strong").first.text_content() == said
    assert page.locator("#cutting tbody th").first.text_content() == said


def test_the_policy_is_enforced(opened):
    """Script put into the page afterwards does not run; the console says so and nothing else."""
    page = opened("tiered")
    page.evaluate(
        """() => { const s = document.createElement('script'); s.textContent = 'window.hit = 1';
            document.body.append(s); }"""
    )
    assert page.evaluate("window.hit") is None
    assert opened.said
    assert all("Content Security Policy" in text for text in opened.said)
    opened.said.clear()


def test_the_keyboard_finds_its_way(opened):
    page = opened("tiered")
    page.keyboard.press("Tab")
    skip = page.locator(".skip")
    assert skip.evaluate("e => e === document.activeElement")
    assert skip.evaluate("e => e.getBoundingClientRect().top >= 0")
    assert skip.evaluate("e => parseFloat(getComputedStyle(e).outlineWidth) >= 2")
    summary = page.locator("summary").first
    summary.focus()
    page.keyboard.press("Enter")
    assert page.locator("details").first.evaluate("e => e.open")


def test_motion_only_for_those_who_want_it(opened):
    wanted = {"reduce": "auto", "no-preference": "smooth"}
    for motion, behaviour in wanted.items():
        page = opened("tiered", reduced_motion=motion)
        got = page.evaluate("getComputedStyle(document.documentElement).scrollBehavior")
        assert got == behaviour


def test_on_paper_everything_is_open_and_nothing_clickable(opened, tmp_path):
    page = opened("tiered", color_scheme="dark")
    closed = page.locator("details:not([open])").count()
    assert closed > 5
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.locator("details:not([open])").count() == 0
    page.emulate_media(media="print", color_scheme="dark")
    for away in ("nav", "#switches", ".skip"):
        assert page.locator(away).is_hidden()
    ink = page.evaluate("[getComputedStyle(document.body).color, document.body.innerText]")
    assert ink[0] == "rgb(0, 0, 0)"  # black on white paper, though the screen is dark
    assert "sharpest kink" in ink[1]
    page.emulate_media(media="screen")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.locator("details:not([open])").count() == closed


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext")
def test_a_print_holds_what_is_folded_on_the_screen(opened, tmp_path):
    page = opened("tiered")
    path = tmp_path / "report.pdf"
    page.pdf(path=path, format="A4")
    text = subprocess.run(
        ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
    ).stdout
    assert "sharpest kink" in text
    assert "Cutting list" in text
    assert "Skip to the sheet" not in text
