"""The stories of three roles in Debian's chromium, and axe on every kind of page."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.web.conftest import DETAILS

CHROMIUM = Path("/usr/bin/chromium")
if os.environ.get("CI"):  # where both were to be installed, as in .ci/run
    assert CHROMIUM.exists()
    import playwright.sync_api as playwright
else:
    playwright = pytest.importorskip("playwright.sync_api", reason="pytest-playwright is not installed")

QUIET = (
    "--no-sandbox",  # which root cannot have
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
"""How the browser is started: on any machine, and asking nobody but the page."""
AXE = Path(__file__).parent / "vendored" / "axe.min.js"
AXE_RUN = "(also) => axe.run({resultTypes: ['violations'], ...also}).then(found => found.violations)"
"""What it finds, without the long lists of what is well."""
COLOURS = {"runOnly": ["cat.color"]}
"""All that a dark page has otherwise than a light one."""
JOIST = "/detail/tollhouse_joist.toml"
WALL = "/detail/tollhouse_party_wall.toml"
WAIT = 30_000
"""For a machine with much to do [ms]."""

playwright.expect.set_options(timeout=WAIT)
pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="there is no chromium; `apt-get install chromium`")


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    with playwright.sync_playwright() as started:
        made = started.chromium.launch(executable_path=str(CHROMIUM), args=list(QUIET))
        yield made
        made.close()


@pytest.fixture
def opened(chromium: object, served: tuple[str, str]) -> Iterator[Callable[..., object]]:
    """Opens the list or another page, with the token, in a window of its own; what goes wrong in it fails the test."""
    address, token = served
    contexts, wrong = [], []

    def told(said: object, *, held_back: bool) -> None:
        if said.type == "error" and not awaited(said) and not (held_back and lost(said)):
            wrong.append(said.text)

    def open_page(at: str = "/", *, held_back: bool = False, **settings: object) -> object:
        context = chromium.new_context(base_url=address, **settings)
        context.set_default_timeout(WAIT)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: told(said, held_back=held_back))
        page.goto(f"{at}{'&' if '?' in at else '?'}token={token}")
        page.wait_for_url(f"{address}{at}")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert wrong == []


def awaited(said: object) -> bool:
    """Whether an error of the console tells only of a page that refuses, or of a request that another one replaced."""
    replaced = ("htmx:sendAbort", "htmx:afterRequest")
    return "the server responded with a status of 4" in said.text or said.text in replaced


def lost(said: object) -> bool:
    """Whether an error of the console tells of an answer that a test holds back."""
    return said.text == "htmx:sendError" or "status of 500" in said.text or "net::ERR_FAILED" in said.text


def settled(page: object) -> None:
    """Until everything that comes afterwards is there."""
    page.wait_for_selector("[hx-trigger=load]", state="detached")


def test_the_architect_changes_a_dimension_and_takes_the_pdf(opened: Callable[..., object], folder: Path) -> None:
    page = opened()
    page.get_by_role("link", name="Joist end in the street wall").click()
    row = page.locator("table.numbers tr", has_text="Ψ, external").locator(".value")
    before = row.inner_text()
    field = page.get_by_label("inside insulation", exact=False).first
    field.fill("60")
    field.press("Tab")
    page.wait_for_url("**p.insulation_thickness=60")
    settled(page)
    assert row.inner_text() != before
    page.get_by_role("link", name="Undo").click()
    settled(page)
    assert row.inner_text() == before
    page.get_by_role("link", name="Redo").click()
    settled(page)
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved; the version before it").wait_for()
    assert "insulation_thickness = 60" in (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")
    page.get_by_role("link", name="Undo").click()  # what stood there before is still within reach
    settled(page)
    assert row.inner_text() == before
    page.get_by_text("(not saved)").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF report").click()
    assert Path(taken.value.path()).read_bytes().startswith(b"%PDF")


def test_a_field_and_its_dimension_mark_each_other(opened: Callable[..., object]) -> None:
    page = opened(JOIST)
    dimension = page.locator('.dimension[data-parameter="masonry_thickness"]').first
    page.locator("#p-masonry_thickness").focus()
    assert "is-marked" in dimension.get_attribute("class")
    page.locator("#p-joist_width").focus()
    assert "is-marked" not in dimension.get_attribute("class")
    dimension.locator("path").dispatch_event("click")
    assert page.evaluate("document.activeElement.id") == "p-masonry_thickness"


def test_pointing_at_the_drawing_tells_temperature_and_material(opened: Callable[..., object]) -> None:
    page = opened("/detail/two_layers.toml")
    box = page.locator("#drawing svg .layer[data-layer=outlines]").bounding_box()
    page.mouse.click(box["x"] + 0.3 * box["width"], box["y"] + 0.5 * box["height"])
    page.wait_for_function("() => document.getElementById('told').textContent.includes('brick')")
    page.mouse.click(box["x"] + 0.9 * box["width"], box["y"] + 0.5 * box["height"])
    page.wait_for_function("() => document.getElementById('told').textContent.includes('board')")


def test_what_the_result_depends_on_stays_open_and_is_looked_at_again(opened: Callable[..., object]) -> None:
    """A first look leaves it out; it comes again open with the narrower brackets."""
    page = opened(WALL)
    settled(page)
    page.locator("#depends > summary").click()
    carried = page.locator("#depends caption", has_text="What carries")
    carried.wait_for()
    before = page.locator("#depends").inner_text()
    page.locator("#p-insulation_thickness").fill("73")
    page.locator("#p-insulation_thickness").press("Enter")
    page.wait_for_url("**p.insulation_thickness=73**")
    settled(page)
    carried.wait_for()
    playwright.expect(page.locator("#depends")).to_have_attribute("open", "")
    assert page.locator("#depends").inner_text() != before
    page.locator("#depends > summary").click()
    page.locator("#drawing").scroll_into_view_if_needed()
    box = page.locator("#drawing svg .layer[data-layer=outlines]").bounding_box()
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.7 * box["height"])
    page.wait_for_function("() => document.getElementById('told').textContent.includes('°C')")
    playwright.expect(page.locator("#depends")).not_to_have_attribute("open", "")
    page.locator("#p-insulation_thickness").fill("74")
    page.locator("#p-insulation_thickness").press("Enter")
    page.wait_for_url("**p.insulation_thickness=74**")
    settled(page)
    playwright.expect(page.locator("#depends")).not_to_have_attribute("open", "")


def test_a_wrong_value_is_told_and_the_drawing_stays(opened: Callable[..., object]) -> None:
    page = opened(JOIST)
    settled(page)
    page.locator("#p-bearing_length").fill("9000")
    page.locator("#p-bearing_length").press("Enter")
    page.locator("#m-p-bearing_length", has_text="outside the limits").wait_for()
    page.get_by_text("Last good picture").wait_for()
    playwright.expect(page.locator("#p-bearing_length")).to_have_attribute("aria-invalid", "true")
    playwright.expect(page.locator("#drawing svg")).to_have_count(1)
    page.locator("#p-bearing_length").fill("150")
    page.locator("#p-bearing_length").press("Enter")
    page.get_by_text("Last good picture").wait_for(state="detached")
    playwright.expect(page.locator("#p-bearing_length")).not_to_have_attribute("aria-invalid", "true")


@pytest.mark.parametrize("status", [0, 403, 500])
def test_an_answer_that_does_not_come_is_told(opened: Callable[..., object], status: int) -> None:
    """The picture before stays, marked; what was typed stays; later answers are shown as ever."""
    page = opened(WALL, held_back=True)
    settled(page)
    address = page.url

    def hold_back(route: object) -> None:
        if status:
            route.fulfill(status=status, content_type="text/html", body="<html><body>no page of ours</body></html>")
        else:
            route.abort()

    page.route("**/detail/**", hold_back)
    page.locator("#p-insulation_thickness").fill("71")
    page.locator("#p-insulation_thickness").press("Tab")
    told = {0: "does not answer", 403: "was started anew", 500: "could not answer (500)"}[status]
    page.locator("#unanswered", has_text=told).wait_for()
    page.get_by_text("Last good picture").first.wait_for()
    assert page.locator("#drawing svg").count() == 1
    assert page.url == address
    page.locator("#drawing svg").click(position={"x": 200, "y": 100})
    said = {0: "does not answer", 403: "started anew", 500: "Not while something is wrong"}[status]
    page.locator("#told", has_text=said).wait_for()
    page.unroute("**/detail/**")
    page.locator("#p-masonry_thickness").fill("250")
    page.locator("#p-masonry_thickness").press("Tab")
    page.wait_for_url("**p.insulation_thickness=71**")
    page.locator("#unanswered").wait_for(state="detached")
    assert page.locator(".stale").count() == 0


def test_what_cannot_be_sent_stays_as_typed(opened: Callable[..., object], folder: Path) -> None:
    """While the server is away, and with the token of a run that has ended."""
    page = opened("/detail/two_layers.toml?as=text", held_back=True)
    typed = page.locator("#toml").input_value().replace('"Two layers"', '"Three layers"')
    page.locator("#toml").fill(typed)
    page.route("**/token", lambda route: route.abort())
    page.get_by_role("button", name="Compute this text").first.click()
    page.locator("#unanswered", has_text="Nothing was sent, and what is typed stays").wait_for()
    assert page.locator("#toml").input_value() == typed
    page.unroute("**/token")
    page.evaluate(
        "() => { for (const one of document.querySelectorAll('[name=token]')) one.value = 'of another run'; }"
    )
    page.get_by_role("button", name="Compute this text").first.click()
    page.get_by_role("heading", name="Three layers").wait_for()
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved;").wait_for()
    assert "Three layers" in (folder / "two_layers.toml").read_text(encoding="utf-8")


def test_a_value_typed_right_before_a_link_is_kept(opened: Callable[..., object]) -> None:
    page = opened(WALL)
    settled(page)
    page.locator("#p-insulation_thickness").fill("77")
    page.get_by_role("link", name="Materials", exact=True).click()
    page.wait_for_url("**/materials")
    page.go_back()
    playwright.expect(page.locator("#p-insulation_thickness")).to_have_value("77")


def test_the_certifier_rechecks_a_report(opened: Callable[..., object], tmp_path: Path) -> None:
    page = opened("/detail/two_layers.toml")
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF report").click()
    path = tmp_path / "report.pdf"
    taken.value.save_as(path)
    page.get_by_role("link", name="Recheck").click()
    page.get_by_label("Report").set_input_files(path)
    page.get_by_role("button", name="Compute it again").click()
    page.locator(".verdict.kept", has_text="agrees").first.wait_for()


def test_the_builder_compares_two_options_and_moves_a_slider(opened: Callable[..., object]) -> None:
    page = opened(f"{JOIST}?p.insulation_thickness=60", viewport={"width": 820, "height": 1180}, has_touch=True)
    page.get_by_role("link", name="Compare with the saved one").click()
    page.locator("figure").nth(1).wait_for()
    page.goto("/compare?d=tollhouse_joist.toml&d=tollhouse_party_wall.toml")
    for width in (1280, 820):
        page.set_viewport_size({"width": width, "height": 1180})
        scales = page.locator(".side svg").evaluate_all("all => all.map(one => one.getScreenCTM().a)")
        assert len(scales) == 2
        assert scales[0] == pytest.approx(scales[1], rel=1e-3)
        tops = page.locator(".side figcaption").evaluate_all("all => all.map(one => one.getBoundingClientRect().top)")
        assert tops[0] == tops[1]
    page.locator("#layer-isotherms").focus()
    page.keyboard.press("Space")
    page.wait_for_url("**layers=materials.airtight.coldest")
    page.locator("[data-layer=isotherms]").first.wait_for(state="detached")
    assert page.evaluate("() => document.activeElement.id") == "layer-isotherms"
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF sheet").click()
    assert Path(taken.value.path()).read_bytes().startswith(b"%PDF")
    page.goto(f"{WALL}/what-if?w=insulation_thickness")
    page.locator(".chart .point").nth(12).wait_for()
    slider = page.locator("input[type=range]")
    slider.focus()
    for _ in range(4):
        slider.press("ArrowRight")
    page.wait_for_url(re.compile(r"p\.insulation_thickness="))


def test_the_architect_finds_a_thickness_that_meets_the_limit(opened: Callable[..., object]) -> None:
    page = opened(WALL)
    page.get_by_role("link", name="Find a value").click()
    page.get_by_label("from value of 1").fill("20")
    page.get_by_label("to value of 1").fill("200")
    page.get_by_label("Ψ at most").fill("0.12")
    page.get_by_role("button", name="Find it").click()
    page.get_by_text("all limits met, for certain").wait_for()
    page.get_by_role("link", name="Open the detail like this").click()
    playwright.expect(page.locator("#p-insulation_thickness")).to_have_value("64")
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF report").click()
    assert Path(taken.value.path()).read_bytes().startswith(b"%PDF")


def test_how_it_is_computed_is_chosen_beside_a_text_too(opened: Callable[..., object]) -> None:
    page = opened("/detail/two_layers.toml")
    page.get_by_text("How it is computed").click()
    page.get_by_label("Mesh").select_option("gmsh")
    page.get_by_role("button", name="Compute it so").click()
    page.wait_for_url("**two_layers.toml?mesher=gmsh")
    page.locator("#tolerance").fill("9")
    page.locator("#tolerance").press("Enter")
    page.locator("#m-tolerance", has_text="write a number from 0.00001 to 1").wait_for()
    page.get_by_text("Last good picture").wait_for()


def test_all_of_it_without_a_script(opened: Callable[..., object], folder: Path) -> None:
    page = opened(java_script_enabled=False)
    page.get_by_role("link", name="Show all drawings").click()
    playwright.expect(page.locator(".card svg")).to_have_count(3)
    page.get_by_role("link", name="Joist end in the street wall").first.click()
    page.locator("#p-insulation_thickness").fill("60")
    page.get_by_role("button", name="Compute", exact=True).click()
    playwright.expect(page).to_have_url(re.compile(r"\?p\.insulation_thickness=60$"))
    page.locator("#x").fill("100")
    page.locator("#y").fill("100")
    page.locator("#y").press("Enter")
    page.get_by_text("solid brick").first.wait_for()
    page.get_by_role("link", name="Back to the detail").click()
    page.get_by_role("button", name="Save").click()
    playwright.expect(page).to_have_url(re.compile(r"saved=yes$"))
    assert "insulation_thickness = 60" in (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")
    page.goto("/detail/two_layers.toml")
    text = page.locator("textarea").input_value()
    page.locator("textarea").fill(text.replace("0.77", "1.9"))
    page.get_by_role("button", name="Compute this text").click()
    playwright.expect(page.locator("textarea")).to_have_value(re.compile(r"conductivity = 1\.9"))
    page.goto(f"{WALL}/sweep")
    page.get_by_label("in so many values of 1").fill("2")
    page.get_by_role("button", name="Compute them").click()
    page.locator("table caption", has_text="2 variants").wait_for()
    page.goto(f"{WALL}/find?v1=insulation_thickness&v1.first=20&v1.last=40&step=10")
    page.get_by_role("link", name="Compute them now").click()
    page.get_by_text("values computed").wait_for()


def test_what_is_new_compared_summed_and_printed_without_a_script(
    opened: Callable[..., object], tmp_path: Path
) -> None:
    """A new detail, a comparison, a building, its PDF and a report that is rechecked."""
    page = opened(java_script_enabled=False)
    page.get_by_label("Junction", exact=True).select_option("wall_corner")
    page.get_by_label("File name").fill("corner")
    page.get_by_role("button", name="Begin the detail").click()
    playwright.expect(page).to_have_url(re.compile(r"/detail/corner\.toml$"))
    page.locator("#p-insulation_thickness").fill("80")
    page.get_by_role("button", name="Compute", exact=True).click()
    page.get_by_role("link", name="Compare with the saved one").click()
    playwright.expect(page.locator("figure")).to_have_count(2)
    page.locator("caption", has_text="What is different in the input").wait_for()
    with page.expect_download() as sheet:
        page.get_by_role("link", name="PDF sheet").click()
    assert Path(sheet.value.path()).read_bytes().startswith(b"%PDF")
    page.goto("/")
    page.get_by_label("Name of the building's file").fill("house")
    page.locator("[name=detail][value='corner.toml']").check()
    page.get_by_role("button", name="Go on to the lengths").click()
    page.get_by_label("Length [m]", exact=True).fill("5")
    page.get_by_role("button", name="Add a junction").click()
    page.locator("fieldset.junction").nth(1).wait_for()
    page.get_by_role("button", name="Save the new building").click()
    page.get_by_text("Saved as house.toml").wait_for()
    page.get_by_role("link", name="Compute them now").click()
    page.locator("caption", has_text="Totals").wait_for()
    playwright.expect(page.locator("td[data-label='Length or number']")).to_have_text("5.000 m")
    page.locator("td a[href^='/detail/corner.toml']").click()
    with page.expect_download() as taken:
        page.get_by_role("link", name="PDF report").click()
    taken.value.save_as(tmp_path / "corner.pdf")
    page.goto("/recheck")
    page.get_by_label("Report (PDF").set_input_files(tmp_path / "corner.pdf")
    page.get_by_role("button", name="Compute it again", exact=True).click()
    page.locator(".verdict.kept", has_text="agrees").wait_for()


def test_a_button_does_not_move_away_under_a_click(opened: Callable[..., object]) -> None:
    """The help of the field that loses the focus stays until the click is done, and then goes."""
    page = opened("/detail/two_layers.toml")
    settled(page)
    page.locator("summary", has_text="How it is computed").click()
    page.locator("#tolerance").fill("0.02")
    button = page.get_by_role("button", name="Compute it so")
    page.set_viewport_size({"width": 1280, "height": 1500})
    box = button.bounding_box()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    assert abs(button.bounding_box()["y"] - box["y"]) < 1.0
    page.mouse.up()
    page.wait_for_url("**tolerance=0.02*")
    playwright.expect(page.locator(".is-held")).to_have_count(0)


def test_two_browsers_save_and_the_second_is_told(opened: Callable[..., object], folder: Path) -> None:
    one, other = opened(JOIST), opened(JOIST)
    for page, value in ((one, "60"), (other, "140")):
        settled(page)
        page.locator("#p-insulation_thickness").fill(value)
        page.locator("#p-insulation_thickness").press("Tab")
        page.wait_for_url(f"**insulation_thickness={value}")
        settled(page)
    one.get_by_role("button", name="Save").click()
    one.get_by_text("Saved; the version before it").wait_for()
    other.locator("#p-joist_width").fill("90")
    other.locator("#p-joist_width").press("Tab")
    other.get_by_text("changed by somebody else since you opened it").wait_for()
    settled(other)
    other.get_by_role("button", name="Save").click()
    other.get_by_text("Not saved: tollhouse_joist.toml: the file was changed by somebody else").wait_for()
    playwright.expect(other.locator("#p-insulation_thickness")).to_have_value("140")
    text = (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")
    assert re.search(r"^insulation_thickness = 60$", text, re.MULTILINE)
    assert "joist_width = 80" in text


def test_what_is_typed_and_not_yet_computed_is_saved(opened: Callable[..., object], folder: Path) -> None:
    page = opened(JOIST)
    settled(page)
    page.locator("#p-insulation_thickness").fill("51")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved; the version before it").wait_for()
    assert "insulation_thickness = 51" in (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")
    page.goto(f"{JOIST}?as=text")
    settled(page)
    changed = page.locator("#toml").input_value().replace("insulation_thickness = 51", "insulation_thickness = 52")
    page.locator("#toml").fill(changed)
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved; the version before it").wait_for()
    assert "insulation_thickness = 52" in (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")


def test_what_is_followed_right_after_a_change_shows_it(opened: Callable[..., object]) -> None:
    """Files and other pages of what was typed last, though the page has not been told of it yet."""
    page = opened(JOIST)
    settled(page)
    page.locator("#p-insulation_thickness").fill("80")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Detail file").click()
    assert "\ninsulation_thickness = 80" in Path(taken.value.path()).read_text(encoding="utf-8")
    page.locator("#p-insulation_thickness").fill("90")
    page.locator("#as-else a", has_text="in, °F").click()
    page.wait_for_url("**units=inch-pound*")
    assert page.locator("#p-insulation_thickness").input_value().startswith("3.5")
    page.locator("#as-else a", has_text="Edit as text").click()
    page.wait_for_url("**as=text*")
    assert "\ninsulation_thickness = 100" not in page.locator("#toml").input_value()


def test_two_browsers_at_once(opened: Callable[..., object]) -> None:
    one, other = opened(JOIST), opened(JOIST)
    one.locator("#p-insulation_thickness").fill("60")
    one.locator("#p-insulation_thickness").press("Tab")
    other.locator("#p-insulation_thickness").fill("140")
    other.locator("#p-insulation_thickness").press("Tab")
    one.wait_for_url("**insulation_thickness=60")
    other.wait_for_url("**insulation_thickness=140")
    settled(one)
    settled(other)
    numbers = [page.locator("table.numbers .value").first.inner_text() for page in (one, other)]
    assert numbers[0] != numbers[1]


WIDTHS = (1366, 1280, 820, 390)
SPAN = "v1=insulation_thickness&v1.first=20&v1.last=200"
PAGES = (
    "/",
    f"{JOIST}?p.bearing_length=9000",
    f"{WALL}?as=text",
    "/detail/tollhouse_fixing.toml",
    "/detail/two_layers.toml",
    f"{WALL}/what-if?all=yes",
    f"{WALL}/sweep?{SPAN}&v1.count=2&v2=masonry_thickness&v2.list=300,9000",
    f"{WALL}/find?{SPAN}&step=60&v2=masonry_thickness&v2.list=300,9000",
    "/compare?d=tollhouse_joist.toml&d=tollhouse_joist.toml%3Fp.insulation_thickness%3D60",
    "/materials?word=board",
    f"{JOIST}/drawing",
    "/limits",
    "/recheck",
    "/building/building.toml",
    "/building/building.toml/text",
    "/building/building.toml/rows",
    "/file/two_layers.toml/manage",
    f"{WALL}/depends",
    "/new-building?name=row.toml&detail=tollhouse_joist.toml",
    f"{JOIST}/point?x=0&y=100",
    "/nowhere",
)


@pytest.mark.parametrize(
    ("scheme", "addresses"),
    [("light", PAGES[::2]), ("light", PAGES[1::2]), ("dark", PAGES[1:6:4])],  # with all kinds of colours
    ids=["light", "light, others", "dark"],
)
def test_axe_finds_nothing_and_nothing_is_wider_than_the_window(
    opened: Callable[..., object], folder: Path, scheme: str, addresses: tuple[str, ...]
) -> None:
    text = (
        'title = "Invented building"\ndimensions = "external"\n'
        '[[junction]]\nref = "J1"\ndetail = "tollhouse_party_wall.toml"\nlength = 6.2\n'
    )
    (folder / "building.toml").write_text(text, encoding="utf-8")
    shutil.copy(DETAILS / "tollhouse_fixing.toml", folder)
    page = opened("/recheck", color_scheme=scheme, bypass_csp=True)
    found, also = [], {} if scheme == "light" else COLOURS
    for address in addresses:
        page.goto(address)
        settled(page)
        if address == "/":
            page.locator("#new-name").fill("wall (1).toml")
            page.locator("#new-name:valid").wait_for()
            page.locator("#new-name").fill("a/wall.toml")
            page.locator("#new-name:invalid").wait_for()
        for width in WIDTHS if scheme == "light" else WIDTHS[:1]:
            page.set_viewport_size({"width": width, "height": 900})
            wide = page.evaluate("() => document.documentElement.scrollWidth")
            found += [(address, width, wide)] if wide > width else []
            if width == WIDTHS[0]:
                page.add_script_tag(path=AXE)
                for one in page.evaluate(AXE_RUN, also):
                    found += [(address, width, one["id"], node["html"][:160]) for node in one["nodes"]]
    assert found == []


def test_the_keyboard_goes_everywhere(opened: Callable[..., object]) -> None:
    page = opened(JOIST)
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    seen = set()
    called = "() => { const one = document.activeElement; return one.id || one.name || one.textContent.trim(); }"
    wanted = {"p-insulation_thickness", "p-insulation_material", "layer-heat", "section", "x", "save-it", "PDF report"}
    for _ in range(200):
        page.keyboard.press("Tab")
        seen.add(page.evaluate(called))
        if wanted <= seen:
            break
    assert wanted <= seen


def test_the_keyboard_keeps_its_place(opened: Callable[..., object]) -> None:
    page = opened("/recheck", viewport={"width": 1280, "height": 720})
    page.add_init_script("delete Element.prototype.moveBefore")  # as in browsers that do not have it
    page.goto(JOIST)
    focused = "() => document.activeElement.id"
    page.locator("#layer-heat").focus()
    page.keyboard.press("Space")
    page.wait_for_url("**layers=*heat*")
    settled(page)
    assert page.evaluate(focused) == "layer-heat"
    page.locator("#section").focus()
    page.keyboard.press("ArrowDown")
    page.wait_for_url("**section=*")
    settled(page)
    assert page.evaluate(focused) == "section"
    elsewhere = page.locator(".field:has(.drawn a) input.number").first  # its way to another section is swapped too
    elsewhere.fill("90")
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.closest('.drawn') !== null")
    field = page.evaluate("() => document.activeElement.closest('.field').dataset.parameter")
    page.wait_for_url("**=90*")
    settled(page)
    assert page.evaluate("() => document.activeElement.closest('.field')?.dataset.parameter") == field
    page.evaluate("() => { document.getElementById('sheet').scrollTop = 60; }")
    page.locator("#sheet summary").first.evaluate("(one) => { one.parentElement.open = true; }")
    page.locator("#p-bearing_length").fill("160,5")
    page.locator("#x").fill("100")
    page.wait_for_url("**bearing_length=160*")
    settled(page)
    assert page.evaluate(focused) == "x"
    assert page.evaluate("() => document.getElementById('sheet').scrollTop") > 0
    assert page.locator("#sheet details").first.evaluate("(one) => one.open")
    page.locator("#y").fill("1")
    before = page.url
    page.keyboard.press("Enter")
    page.locator("#told", has_text="°C").wait_for()
    assert page.evaluate(focused) == "y"
    assert page.locator("#x").input_value() == "100"
    assert page.url == before
    page.locator("#x").fill("left")
    page.keyboard.press("Enter")
    page.locator("#told", has_text="write a number").wait_for()
    page.evaluate("() => { const one = document.getElementById('sheet'); one.scrollTop = one.scrollHeight; }")
    page.evaluate("() => window.scrollTo(0, 900)")
    playwright.expect(page.get_by_role("button", name="Save")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("scripts", [True, False])
def test_why_a_new_detail_was_refused_is_seen_at_once(opened: Callable[..., object], scripts: bool) -> None:
    page = opened(java_script_enabled=scripts)
    page.get_by_label("File name").fill("two_layers")
    page.get_by_role("button", name="Begin the detail").click()
    told = page.get_by_role("alert")
    playwright.expect(told).to_have_count(1)
    playwright.expect(told).to_be_in_viewport()
    playwright.expect(told).to_contain_text("two_layers.toml: the file exists already")
    told.get_by_role("link", name="Back to the new detail").click()
    playwright.expect(page.get_by_label("File name")).to_be_in_viewport()
    playwright.expect(page.get_by_label("File name")).to_have_value("two_layers")


@pytest.mark.parametrize("height", [800, 900])
def test_on_a_laptop_the_dimension_of_a_field_is_seen(opened: Callable[..., object], height: int) -> None:
    """The results scroll where the line below the drawing would lie over it."""
    page = opened(JOIST, viewport={"width": 1280 if height == 800 else 1440, "height": height})
    settled(page)
    for name in ("joist_spacing", "joist_width", "side_gap", "masonry_thickness"):
        page.locator(f"#p-{name}").focus()
        seen = page.locator(f'#drawing .dimension[data-parameter="{name}"]').first.evaluate(
            "one => { const b = one.getBoundingClientRect(), line = document.getElementById('place');"
            " return b.bottom <= Math.min(innerHeight, line.getBoundingClientRect().top) && b.top >= 0; }"
        )
        assert seen, name


def test_a_field_and_its_dimension_are_seen_together(opened: Callable[..., object]) -> None:
    page = opened(JOIST, viewport={"width": 820, "height": 1180}, has_touch=True)
    settled(page)
    field = page.locator("#p-insulation_thickness")
    dimension = page.locator('.dimension[data-parameter="insulation_thickness"]')
    playwright.expect(dimension).to_have_count(0)
    page.locator("#d-p-insulation_thickness a").first.press("Enter")
    page.locator('.dimension.is-marked[data-parameter="insulation_thickness"]').first.wait_for(state="attached")
    assert page.evaluate("() => document.activeElement.id") == "p-insulation_thickness"
    assert page.locator("#section").input_value() != ""
    playwright.expect(page.locator("#d-p-insulation_thickness")).to_be_empty()
    settled(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    playwright.expect(dimension.first).to_be_in_viewport()
    assert field.evaluate(
        "one => { const b = one.getBoundingClientRect();"
        " return document.elementFromPoint(b.x + b.width / 2, b.y + b.height / 2) === one; }"
    )
