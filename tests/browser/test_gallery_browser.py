"""The gallery in Chromium, opened from a folder: 5,000 made-up variants.

Counts, orders and differences that are wanted come from the rule by which the variants are made up
here, never from the page.
"""

import re
from pathlib import Path

import pytest

from sleevewright.formats import ENDINGS
from sleevewright.writing.gallery import Entry, Outline, write_gallery

playwright = pytest.importorskip("playwright.sync_api")

CHROMIUM = Path("/usr/bin/chromium")
pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="there is no Chromium")

BLOCKS = ("coat block", "men", "shirt", "women", "youth")
SIZES = ("XS", "S", "M", "L", "XL", "36", "38", "40", "42", "104")
RECIPES = tuple(f"recipe-{n:03}" for n in range(100))
FAMILIES = ("kimono", "raglan", "set-in", "")
STATES = ("held", "noted", "fell short", "failed")
COUNT = len(BLOCKS) * len(SIZES) * len(RECIPES)  # 5000

# Awkward names: markup, quotes, a script that would change the title if it ever ran.
HOSTILE = "</script><script>document.title='broken'</script><img src=x onerror=\"document.title='broken'\">"


def girth(block: int, recipe: int, size: int) -> float:
    """Different for every variant, in no order that keys have."""
    return 300.0 + ((block * 1000 + recipe * 10 + size) * 1237 % COUNT) / 10


def panel(name, left, width, height, bow):
    """A panel with a bowed top, thirty-odd points."""
    top = [(left + width * (1 - t / 30), height + bow * (t / 30) * (1 - t / 30)) for t in range(31)]
    return Outline(name, ((left, 0.0), (left + width, 0.0), *top))


def entry(b, r, s):
    state = STATES[(r + s) % 4]
    made = state != "failed"
    key = f"{BLOCKS[b]}/{RECIPES[r]}/{SIZES[s]}"
    return Entry(
        key=key,
        block=BLOCKS[b],
        recipe=RECIPES[r],
        family=FAMILIES[r % 4],
        size=SIZES[s],
        settings=(("neck_drop", f"{30 + r} mm"),),
        state=state,
        problem="" if state == "held" else f"the {'cap' if r % 2 else 'hem'} is 3 mm short",
        measurements=(
            (("biceps", girth(b, r, s)), ("lift_deg", 40.0 + r / 10), ("wrist", 240.0))
            if made
            else ()
        ),
        links=(("dxf", f"{key}.dxf"), ("svg", f"{key}.svg")) if made else (),
        outlines=(
            panel("back", 0, 250, 600 + s, 40),
            panel("front", 300, 260, 580 + s, 60),
            panel("sleeve", 600, 350 + r, 500, 500),
        )
        if made
        else (),
    )


def everything():
    return [(b, r, s) for b in range(5) for r in range(100) for s in range(10)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("a folder with spaces, # and ü")
    for name, data in write_gallery((entry(*n) for n in everything()), "Library of ten").items():
        path = place / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
    return place


@pytest.fixture(scope="module")
def chromium():
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=str(CHROMIUM), headless=True, args=["--no-sandbox"]
        )
        yield browser
        browser.close()


@pytest.fixture
def page(chromium, folder):
    """A fresh page; whatever the browser complains of fails the test."""
    context = chromium.new_context(viewport={"width": 1360, "height": 900})
    page = context.new_page()
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto((folder / "index.html").as_uri())
    page.wait_for_selector(".card")
    yield page
    context.close()
    assert said == []


def shown(page):
    return page.inner_text("#found")


def options(page, facet):
    """Return value -> number beside it."""
    rows = page.query_selector_all(f".facet-{facet} .option")
    return {
        row.query_selector(".name").inner_text(): int(
            row.query_selector(".count").inner_text().replace(",", "")
        )
        for row in rows
    }


def tick(page, facet, value):
    page.locator(f".facet-{facet} .option", has=page.get_by_text(value, exact=True)).click()


def cards(page, count):
    """Return (recipe, size and block) of the first cards, in the order of the page."""
    found = page.query_selector_all(".card")[:count]
    return [
        (c.query_selector(".recipe").inner_text(), c.query_selector(".of").inner_text())
        for c in found
    ]


def wanted(numbers, count=8):
    return [(RECIPES[r], f"size {SIZES[s]}, {BLOCKS[b]}") for b, r, s in list(numbers)[:count]]


def test_every_variant_is_there_and_only_what_is_seen_is_drawn(page):
    assert shown(page) == "5,000 variants"
    assert page.locator(".card").count() < 60
    assert page.locator(".card").first.get_attribute("aria-setsize") == "5000"
    # Four states by turns: (recipe + size) modulo 4.
    assert page.inner_text("#summary") == "1,250 held, 1,250 noted, 1,250 fell short, 1,250 failed"


def test_filters_filter_and_say_how_many_there_would_be(page):
    tick(page, "family", "raglan")
    assert shown(page) == f"{25 * 50:,} of 5,000 variants"
    tick(page, "size", "M")
    tick(page, "size", "XL")
    mine = [n for n in everything() if n[1] % 4 == 1 and n[2] in (2, 4)]
    assert shown(page) == f"{len(mine)} of 5,000 variants"
    tick(page, "state", "Failed")
    left = [n for n in mine if (n[1] + n[2]) % 4 == 3]
    assert shown(page) == f"{len(left)} of 5,000 variants"
    # A facet's numbers follow the other facets, not its own ticks.
    assert options(page, "state") == {
        word: sum((r + s) % 4 == i for _, r, s in mine)
        for i, word in enumerate(("Held", "Noted", "Fell short", "Failed"))
    }
    assert options(page, "block") == {b: len(left) // 5 for b in BLOCKS}
    page.click("#clear")
    assert shown(page) == "5,000 variants"


def test_sizes_stand_in_the_order_of_the_trade(page):
    assert list(options(page, "size")) == [*SIZES[:5], "36", "38", "40", "42", "104"]


def test_search_takes_every_word(page):
    page.fill("#search", "WOMEN 012 ")
    assert shown(page) == "10 of 5,000 variants"
    page.fill("#search", "cap short")  # recipes of odd number that are not held
    odd = [n for n in everything() if n[1] % 2 and (n[1] + n[2]) % 4]
    assert shown(page) == f"{len(odd):,} of 5,000 variants"
    page.fill("#search", "no such thing")
    assert page.is_visible("#nothing")
    page.click("#clear2")
    assert shown(page) == "5,000 variants"


@pytest.mark.parametrize("down", [False, True])
def test_sorted_by_a_measurement_with_what_has_none_last(page, down):
    page.select_option("#sort", label="biceps")
    if down:
        page.click("#way")
    made = [n for n in everything() if (n[1] + n[2]) % 4 != 3]
    order = sorted(made, key=lambda n: girth(*n), reverse=down)
    assert cards(page, 8) == wanted(order)
    figure = f"biceps {girth(*order[0]):.1f} mm"
    assert page.locator(".card .figure").first.inner_text() == figure
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    page.wait_for_selector('.card[aria-posinset="5000"]')
    assert "not measured" in page.locator(".card .figure").last.inner_text()


def test_side_by_side(page):
    page.fill("#search", "men/recipe-004/ men")
    page.locator(".card", has_text="size 36, men").locator(".pick").click()
    assert page.is_disabled("#open")
    page.fill("#search", "women/recipe-008/")
    page.locator(".card", has_text="size 36, women").locator(".pick").click()
    page.click("#open")
    rows = page.locator("dialog tbody tr")
    found = {r.locator("th").inner_text(): r.locator("td").all_inner_texts() for r in rows.all()}
    a, b = girth(1, 4, 5), girth(3, 8, 5)
    change = f"{b - a:+.2f}".replace("-", "\N{MINUS SIGN}")
    assert found == {
        "biceps": [f"{a:.2f}", f"{b:.2f}", change],
        "lift degrees": ["40.4", "40.8", "+0.4"],
    }
    page.get_by_label("Show equal measurements too").check()
    assert page.locator("dialog tbody tr").last.locator("td").all_inner_texts() == [
        "240.00", "240.00", "0",
    ]  # fmt: skip
    # The sleeves are 354 and 358 wide, everything else is equal: their outlines lie on one another.
    boxes = page.evaluate(
        "[...document.querySelectorAll('dialog .lay-a, dialog .lay-b')].slice(0, 6)"
        ".map(p => p.getBBox()).map(b => [b.x, b.y, b.width, b.height])"
    )
    assert boxes[0] == pytest.approx(boxes[1])
    assert boxes[2] == pytest.approx(boxes[3])
    assert boxes[5][2] - boxes[4][2] == pytest.approx(4.0)
    page.get_by_label("Apart").check()
    assert page.locator("dialog .picture svg[role=img]").count() == 2
    page.keyboard.press("Escape")
    assert not page.locator("dialog").is_visible()


def test_b_is_laid_on_a_wherever_it_was_drawn(chromium, tmp_path):
    """The same piece drawn 700 mm further to the right, one corner of it 20 mm longer."""
    square = ((0.0, 0.0), (300.0, 0.0), (300.0, 400.0), (0.0, 400.0))
    longer = ((700.0, 0.0), (1020.0, 0.0), (1000.0, 400.0), (700.0, 400.0))
    rows = [
        Entry(key=f"b/r/{n}", block="b", recipe="r", size=str(n), state="held",
              outlines=(Outline("front", points),))
        for n, points in enumerate((square, longer))
    ]  # fmt: skip
    page = opened(chromium, tmp_path, rows, "#a=b/r/0&b=b/r/1&pair=1")
    lefts = page.evaluate("[...document.querySelectorAll('dialog path[d^=M][class^=lay]')]"
                          ".slice(0, 2).map(p => p.getBBox().x)")  # fmt: skip
    assert lefts[0] == pytest.approx(lefts[1])


def opened(chromium, place, rows, hash_=""):
    for name, data in write_gallery(rows, "Some").items():
        path = place / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
    page = chromium.new_page()
    page.goto((place / "index.html").as_uri() + hash_)
    page.wait_for_selector(".card")
    return page


def test_the_address_keeps_what_is_seen(page, chromium):
    tick(page, "family", "kimono")
    tick(page, "size", "L")
    page.fill("#search", "coat block")
    page.select_option("#sort", label="biceps")
    page.click("#way")
    other = page.context.new_page()
    other.goto(page.url)
    other.wait_for_selector(".card")
    assert shown(other) == "25 of 5,000 variants"
    assert cards(other, 20) == cards(page, 20)
    assert other.input_value("#search") == "coat block"
    # Back leaves the look at a variant, not the gallery.
    other.locator(".see").first.click()
    assert other.locator("dialog").is_visible()
    other.go_back()
    assert not other.locator("dialog").is_visible()
    assert shown(other) == "25 of 5,000 variants"


def test_scrolling_keeps_within_a_frame_budget(page):
    """Wheel speed, then leaps through the whole list; from one frame to the next, ms."""
    deltas = page.evaluate(
        """async () => {
            const deltas = [];
            const frame = () => new Promise(requestAnimationFrame);
            let before = await frame();
            for (let n = 0; n < 240; n += 1) {
                if (n < 180) scrollBy(0, 120);
                else scrollTo(0, document.body.scrollHeight * (n - 179) / 61);
                const now = await frame();
                deltas.push(now - before);
                before = now;
            }
            return deltas;
        }"""
    )
    assert len(deltas) == 240
    deltas.sort()
    assert deltas[120] < 34
    assert deltas[-1] < 250
    assert page.locator(".card").count() < 80
    print(f"frames: median {deltas[120]:.1f} ms, worst {deltas[-1]:.1f} ms")  # noqa: T201


def test_the_keyboard_is_enough(page):
    page.locator(".see").first.focus()
    page.keyboard.press("ArrowRight")
    place = "document.activeElement.closest('.card').getAttribute('aria-posinset')"
    assert page.evaluate(place) == "2"
    page.keyboard.press("ArrowDown")
    columns = int(page.evaluate(place)) - 2
    assert columns == 4
    page.keyboard.press("End")
    assert page.evaluate(place) == "5000"
    box = page.evaluate("(({top, bottom}) => [top, bottom])"
                        "(document.activeElement.closest('.card').getBoundingClientRect())")  # fmt: skip
    assert 0 <= box[0] < box[1] <= 900
    page.keyboard.press("Enter")
    assert page.locator("dialog").is_visible()
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="hidden")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done, 50)))")
    assert page.evaluate(place) == "5000"  # the focus has come back
    page.keyboard.press("Home")
    assert page.evaluate(place) == "1"
    # With Tab through the rest of a card and on, in the order of the list.
    seen = []
    for _ in range(20):
        page.keyboard.press("Tab")
        seen.append(int(page.evaluate(place)))
    assert seen == sorted(seen)
    assert seen[-1] > 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("wide", [1360, 390])
def test_accessible(chromium, folder, scheme, wide):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    context = chromium.new_context(
        viewport={"width": wide, "height": 844}, color_scheme=scheme, bypass_csp=True
    )
    page = context.new_page()
    page.goto((folder / "index.html").as_uri())
    page.wait_for_selector(".card")
    if wide < 900:
        page.click("#filters summary")
    tags = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    views = ("", "#family=raglan&q=recipe-00&sort=m%3Abiceps&a=men/recipe-001/S&b=men/recipe-001/M",
             "#look=men/recipe-002/S", "#a=men/recipe-001/S&b=men/recipe-004/M&pair=1")  # fmt: skip
    for view in views:
        page.goto((folder / "index.html").as_uri() + view)
        if "look" not in view and "pair" not in view:
            page.wait_for_selector(".card")
        found = axe.run(page, options=tags).response["violations"]
        bad = [(v["id"], v["nodes"][0]["html"][:90]) for v in found
               if v["impact"] in ("serious", "critical", "moderate")]  # fmt: skip
        assert bad == [], view
    context.close()


@pytest.mark.parametrize("wide", [320, 390, 800, 1360])
def test_nothing_sticks_out(chromium, folder, wide):
    """WCAG 1.4.10: no scrolling to the side, down to 320 pixels."""
    page = chromium.new_page(viewport={"width": wide, "height": 800})
    for view in ("", "#a=men/recipe-001/S&b=men/recipe-004/M&pair=1"):
        page.goto("about:blank")
        page.goto((folder / "index.html").as_uri() + view)
        page.wait_for_selector(".card")
        assert page.evaluate("document.documentElement.scrollWidth") <= wide
        if view:
            assert page.evaluate("document.querySelector('dialog').scrollWidth") <= wide
    page.close()


@pytest.mark.parametrize("wide", [1360, 700, 360])
def test_links_of_all_formats_are_on_their_card(chromium, tmp_path, wide):
    """None is cut off, the report goes first, and what to do before cutting stands below."""
    links = tuple((name, f"b/r/1.{ending}") for name, ending in ENDINGS.items())
    rows = [
        Entry(key=f"b/r/{n}", block="b", recipe="r", size=str(n), state="fell short",
              problem="a long finding " * 20, links=links)
        for n in range(4)
    ]  # fmt: skip
    page = opened(chromium, tmp_path, rows)
    page.set_viewport_size({"width": wide, "height": 900})
    page.wait_for_timeout(200)
    for card in page.query_selector_all(".card"):
        frame = card.bounding_box()
        found = card.query_selector_all(".files a")
        assert found[0].inner_text().lower() == "report"
        assert len(found) == len(ENDINGS)
        for link in found:
            box = link.bounding_box()
            assert frame["x"] <= box["x"]
            assert box["x"] + box["width"] <= frame["x"] + frame["width"]
            assert box["y"] + box["height"] <= frame["y"] + frame["height"]
    assert "test square" in page.inner_text(".safety")
    assert "drawcords" in page.inner_text(".safety")


def test_hostile_names_stay_text(chromium, tmp_path):
    rows = [
        Entry(key=f"{HOSTILE}/__proto__/{size}", block=HOSTILE, recipe="__proto__", size=size,
              family="constructor", settings=((HOSTILE, "\u2028\u2029"),), state="noted",
              problem=HOSTILE, measurements=(("__proto__", 1.0), (HOSTILE, 2.0 + n)),
              links=((HOSTILE, "javascript:document.title='broken'"),),
              outlines=(Outline(HOSTILE, ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0))),))
        for n, size in enumerate(("<b>1</b>", "\ud800", "&amp;"))
    ]  # fmt: skip
    page = opened(chromium, tmp_path, rows)
    said = []
    page.on("console", lambda message: said.append(message.text))
    assert page.locator(".of").nth(1).inner_text() == f"size <b>1</b>, {HOSTILE}"
    links = page.eval_on_selector_all(".files a", "all => all.map(a => a.protocol)")
    assert links == ["file:"] * 3
    picks = page.locator(".pick")
    picks.nth(0).click()
    picks.nth(2).click()
    page.click("#open")
    assert page.locator("dialog tbody th").all_inner_texts() == [
        HOSTILE.replace("_", " ").replace(".", ": ")
    ]
    page.keyboard.press("Escape")
    page.locator(".see").first.click()
    assert page.locator("dialog img, li img, dialog b:not(.letter)").count() == 0
    assert page.title() == "Some"
    assert said == []
    page.close()


def test_a_data_file_that_is_gone_is_told(chromium, tmp_path):
    rows = [Entry(key=f"b/r/{n}", block="b", recipe="r", size=str(n), state="held")
            for n in range(300)]  # fmt: skip
    for name, data in write_gallery(rows, "Some").items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
    (tmp_path / "gallery-data" / "001.js").unlink()
    page = chromium.new_page()
    page.goto((tmp_path / "index.html").as_uri())
    page.wait_for_selector(".card")
    assert shown(page) == "250 variants"
    assert "1 of the files" in page.inner_text("#trouble")
    page.close()


def test_printed(page):
    """A page of the first 400, or of what is looked at; then the screen is as it was."""
    tick(page, "family", "kimono")
    pdf = page.pdf(format="A4")
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    # 400 cards, four in a row: 100 rows of at least 40 mm on paper 273 mm high.
    assert 100 * 40 / 273 < pages < 40
    assert page.locator("#printed .card").count() == 0
    assert shown(page) == "1,250 of 5,000 variants"


def test_the_policy_stops_a_foreign_script(chromium, folder):
    text = (folder / "index.html").read_text()
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', text)[1]
    assert "unsafe" not in policy
    page = chromium.new_page()
    page.goto((folder / "index.html").as_uri())
    page.wait_for_selector(".card")
    ran = page.evaluate(
        """() => {
            const script = document.createElement("script");
            script.textContent = "self.ran = true";
            document.body.append(script);
            return self.ran === true;
        }"""
    )
    assert not ran
    page.close()
