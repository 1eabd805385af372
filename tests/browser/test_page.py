"""review.html in a real browser, from a file and without a network: harmless, readable, usable by keyboard."""

import pytest

WIDTHS = (1280, 800, 390)


@pytest.fixture
def opened(browser, review_page):
    """A function that opens the page at a width, with what it logged and asked for."""
    contexts = []

    def visit(*, width, script=True, **options):
        context = browser.new_context(
            viewport={"width": width, "height": 900}, offline=True, java_script_enabled=script, **options
        )
        contexts.append(context)
        page = context.new_page()
        page.logged, page.asked = [], []
        page.on("console", lambda message: page.logged.append(message.text))
        page.on("pageerror", lambda error: page.logged.append(str(error)))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(review_page.as_uri())
        return page

    yield visit
    for context in contexts:
        context.close()


def seen(page, selector):
    """How many elements a reader sees."""
    return page.locator(selector).locator("visible=true").count()


def unfold(page, where=""):
    """Open the chapters of the page, or of one question, as a reader does."""
    for summary in page.locator(f"{where} details.chapter > summary".strip()).all():
        summary.click()


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_logged_nothing_asked_nothing_beside_the_page(opened, review_page, width):
    """No message on the console, no request but for the page itself, no sideways scrolling."""
    page = opened(width=width)
    assert page.logged == []
    assert [url for url in page.asked if not url.startswith("data:")] == [review_page.as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_nothing_serious(opened, width):
    """The axe rules find no serious and no critical fault."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    found = axe.Axe().run(opened(width=width)).response["violations"]
    grave = [
        (one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in ("serious", "critical")
    ]
    assert grave == []


def test_menu_swaps_the_picture(opened):
    """One picture of a choice is seen; another option shows another one in its place."""
    page = opened(width=1280)
    choice = page.locator("#n-04-hours .choice").first
    assert choice.locator(".option img").locator("visible=true").count() == 1
    before = choice.locator(".option img").locator("visible=true").get_attribute("alt")
    choice.locator("select").select_option(index=1)
    assert choice.locator(".option img").locator("visible=true").count() == 1
    assert choice.locator(".option img").locator("visible=true").get_attribute("alt") != before


def test_whole_without_a_script(opened):
    """Where scripts are off every picture and every row stands there, under its label."""
    page = opened(width=1280, script=False)
    unfold(page)
    assert seen(page, ".option img") == page.locator(".option img").count() > 10
    assert seen(page, ".picked") == page.locator(".picked").count()
    assert seen(page, ".tools") == 0


def test_table_is_searched_and_sorted_by_keyboard(opened):
    """A word leaves the rows that hold it, and says how many; a head sorts up, then down."""
    page = opened(width=1280)
    unfold(page, "#n-03-openings")
    table = page.locator("#n-03-openings table.searchable").first
    rows = table.locator("tbody tr")
    page.locator("#n-03-openings input[type=search]").first.fill("6m es")
    count = rows.locator("visible=true").count()
    assert 0 < count < rows.count()
    assert all("6m" in text for text in rows.locator("visible=true").all_inner_texts())
    assert (
        page.locator("#n-03-openings [role=status]").first.inner_text() == f"{count} of {rows.count()} rows"
    )
    head = table.locator("th", has_text="duration min")
    for direction in ("ascending", "descending"):
        head.locator("button").press("Enter")
        assert head.get_attribute("aria-sort") == direction
        place = [text.strip() for text in table.locator("th").all_inner_texts()].index("duration min")
        column = table.locator(f"tbody tr td:nth-child({place + 1})").all_text_contents()
        values = [float(text.replace(",", "")) for text in column]
        assert values == sorted(values, reverse=direction == "descending")


def test_contents_work_by_keyboard(opened):
    """The first stop skips to the review; a line of the contents leads to its question."""
    page = opened(width=1280, reduced_motion="reduce")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#main"
    page.locator("nav a", has_text="Where did each month").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("Math.abs(document.querySelector('#n-06-maps').getBoundingClientRect().top) < 100")


def test_prints_answers_and_what_was_opened(opened, tmp_path):
    """On paper each question has its answer and its first picture; a chapter only where it was opened; no menus."""
    page = opened(width=1280)
    page.emulate_media(media="print")
    short = seen(page, "img")
    assert 6 <= short <= 12
    assert seen(page, ".tools") == 0
    page.emulate_media(media="screen")
    unfold(page, "#n-05-season")
    page.emulate_media(media="print")
    assert seen(page, "img") > short
    page.pdf(path=tmp_path / "review.pdf", format="A4")
    assert (tmp_path / "review.pdf").stat().st_size > 100_000


def test_own_script_is_the_only_one_allowed(opened):
    """A script that slipped into the page would not run."""
    page = opened(width=800)
    page.evaluate(
        "document.body.append(Object.assign(document.createElement('script'), {text: 'window.bad = 1'}))"
    )
    assert page.evaluate("window.bad") is None
