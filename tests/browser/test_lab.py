"""The workbook in JupyterLab, in a real browser: it runs, its controls act with a kernel and without, nothing overflows."""

import pytest

from analysis.shipped import notebook_paths

WIDTHS = (1280, 800)
READY_MS = 60_000
FAULTS = '[data-mime-type$="jupyter.error"], [data-mime-type$="jupyter.stderr"]'
# Outputs scroll inside boxes of their own; what is wider than the notebook is cut off or moves the page.
WIDER = """() => [...document.querySelectorAll(".jp-OutputArea-output")]
    .filter(output => output.scrollWidth > output.clientWidth + 2).map(output => output.innerText.slice(0, 80))"""
DONE = f"""() => document.querySelector('{FAULTS}') ||
    [...document.querySelectorAll(".jp-CodeCell .jp-InputArea-prompt")].every(one => /\\d/.test(one.textContent))"""


@pytest.fixture
def opened(browser, lab):
    """A function that opens a notebook in a JupyterLab of its own, with the errors that it logged."""
    pages = []

    def visit(name):
        page = browser.new_page(viewport={"width": WIDTHS[0], "height": 900})
        pages.append(page)
        page.logged = []
        page.on("pageerror", lambda error: page.logged.append(str(error)))
        page.goto(f"{lab}/tree/{name}?reset", timeout=READY_MS)
        page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=READY_MS)
        page.wait_for_function("document.body.innerText.includes('| Idle')", timeout=READY_MS)
        return page

    yield visit
    for page in pages:
        page.close()


def swap(page):
    """Choose the second option of the first menu; the alt text seen before and after."""
    picture = page.locator(".jp-OutputArea-output .widget-html img").locator("visible=true").first
    page.locator(".widget-dropdown select").first.scroll_into_view_if_needed()
    before = picture.get_attribute("alt")
    page.locator(".widget-dropdown select").first.select_option(index=1)
    page.wait_for_timeout(300)
    return before, picture.get_attribute("alt")


@pytest.mark.parametrize("path", notebook_paths(), ids=lambda path: path.stem)
def test_runs_from_top_to_bottom(opened, path):
    """Every cell runs, nothing is written to stderr, and no output is wider than the notebook."""
    page = opened(path.name)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(f"!({DONE})()", timeout=READY_MS)  # the stored numbers are gone, it has begun
    page.wait_for_function(DONE, timeout=READY_MS)
    assert page.locator(FAULTS).count() == 0
    assert page.logged == []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_timeout(300)
        assert page.evaluate(WIDER) == [], width
    if path.stem == "04_hours":
        before, after = swap(page)
        assert before != after


def test_controls_work_without_a_kernel(opened):
    """A stored notebook whose kernel is shut down still swaps its pictures, and finds words in its tables."""
    page = opened("03_openings.ipynb")
    page.get_by_role("menuitem", name="Kernel", exact=True).click()
    page.get_by_role("menuitem", name="Shut Down Kernel", exact=True).click()
    page.wait_for_function("document.body.innerText.includes('No Kernel')", timeout=READY_MS)
    before, after = swap(page)
    assert before != after
    box = page.locator(".jp-OutputArea-output input[type=search]").first
    box.fill("6m es")
    assert " of 200 rows" in page.locator(".jp-OutputArea-output [role=status]").first.inner_text()


def test_lab_opens_on_the_start_page(browser, lab):
    """Who opens the workbook is on the start page, is asked nothing, and a link there opens a question."""
    page = browser.new_page()
    page.goto(lab.removesuffix("/lab"), timeout=READY_MS)
    heading = ".jp-Notebook h1:has-text('{}')"
    page.wait_for_selector(heading.format("Your seasons in nine questions"), timeout=READY_MS)
    page.locator(".jp-Notebook a:visible", has_text="Where did each month open to").click()
    page.wait_for_selector(heading.format("6 · Where did each month open to?"), timeout=READY_MS)
    assert page.locator(".Toastify__toast").count() == 0
    page.close()
