"""The page in a browser without a network: with fingers and mouse, dark and light."""

from __future__ import annotations

import base64
import io
import json
import math
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from PIL import Image
from scipy.spatial.transform import Rotation

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.mesh_shape import mesh_shape
from loopsolver.geometry.solids import Mesh
from loopsolver.page.html_file import write_page
from loopsolver.page.shapes import solids
from loopsolver.plan import Plan
from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.centreline import Centreline, sample
from tests.builders import demo_build
from tests.full import few_or_all

playwright: Any = pytest.importorskip("playwright.sync_api")

CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium")
pytestmark = pytest.mark.skipif(
    CHROMIUM is None, reason="no Chromium (chromium-headless-shell)"
)
DRAWS_ALONE = (
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-gpu-compositing",
    "--disable-gpu-rasterization",
    "--webgl-antialiasing-mode=none",
)
"""What makes it draw in three dimensions without a graphics card, and nothing else so.

Edges stay rough: smooth ones take twice the time.
"""

PORTRAIT, LANDSCAPE = (800, 1280), (1280, 800)
SMALL = (480, 720)
"""Where only behaviour is looked at: without a graphics card every pixel takes its time."""

FINGER = 44
"""Least side of what a finger is to hit [px]: WCAG 2.1, success criterion 2.5.5."""

BREAKING = "</script><b>\u2028--><!--"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for all tests here; it draws without a graphics card."""
    with playwright.sync_playwright() as driver:
        found = driver.chromium.launch(
            executable_path=CHROMIUM,
            args=DRAWS_ALONE,
        )
        yield found
        found.close()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of the hand-made plan."""
    path = tmp_path_factory.mktemp("page") / "plan.html"
    write_page(demo_build.vented_plan(), path)
    return path


@dataclass
class Shown:
    """A page in the browser, and what went wrong or out since it was opened."""

    page: Any
    has_touch: bool
    wrong: list[str] = field(default_factory=list)
    asked_for: list[str] = field(default_factory=list)

    def tap(self, words: str, where: str) -> None:
        """Touch or click the button of those words."""
        buttons = self.page.locator(where)
        self.press(buttons.get_by_role("button", name=words, exact=True))

    def press(self, what: Any, **where: Any) -> None:
        """Touch or click something, and wait until the page has done what follows.

        The click that a touch makes comes after the touch itself.
        """
        self.page.evaluate("window.clicks = 0")
        (what.tap if self.has_touch else what.click)(**where)
        # Asked from here: the page's policy lets nothing wait within it.
        self.until(lambda: self.page.evaluate("window.clicks"))

    def until(self, is_so: Callable[[], Any]) -> None:
        """Wait until something is so; the limit is only there for a failure to end."""
        for _ in range(1000):
            if is_so():
                return
            self.page.wait_for_timeout(10)
        pytest.fail("what is waited for does not come")

    def text(self, where: str) -> str:
        return str(self.page.inner_text(where))

    def pixels(self) -> np.ndarray:
        """The picture itself, drawn anew for a wheel that does not turn.

        Much quicker than a picture of the page, which is put together by software.
        """
        data = self.page.evaluate(
            "(() => { const canvas = document.querySelector('canvas'); "
            "canvas.dispatchEvent(new WheelEvent('wheel', { deltaY: 0 })); "
            "return canvas.toDataURL(); })()"
        )
        return _read(base64.b64decode(data.partition(",")[2]))

    def seen(self) -> np.ndarray:
        """The page as it is seen."""
        return _read(self.page.screenshot())

    def places(self) -> dict[str, tuple[float, float]]:
        """Where the labels stand, by their text [px of the canvas]."""
        found = self.page.evaluate(
            "[...document.querySelectorAll('.label')].map(one => { const box = "
            "one.getBoundingClientRect(); const from = document.querySelector('canvas')"
            ".getBoundingClientRect(); return [one.textContent, box.x + box.width / 2 - "
            "from.x, box.y + box.height / 2 - from.y]; })"
        )
        return {text: (x, y) for text, x, y in found}


def _read(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), dtype=int)


@contextmanager
def opened(
    browser: Any,
    path: Path,
    *,
    size=PORTRAIT,
    look="light",
    touch=True,
    motion="reduce",
    before="",
    at="",
) -> Iterator[Shown]:
    """Open a file with the network off; nothing may go wrong, and nothing be fetched."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        has_touch=touch,
        color_scheme=look,
        reduced_motion=motion,
        offline=True,
    )
    page = context.new_page()
    shown = Shown(page, touch)

    def heard(said: Any) -> None:
        # What the driver says of its speed is no fault of the page.
        is_of_driver = "GL Driver Message (OpenGL, Performance" in said.text
        if said.type in {"error", "warning"} and not is_of_driver:
            shown.wrong.append(said.text)

    def failed(what: Any) -> None:
        shown.wrong.append(str(what))

    def requested(request: Any) -> None:
        shown.asked_for.append(request.url)

    page.on("console", heard)
    page.on("pageerror", failed)
    page.on("dialog", failed)
    context.on("request", requested)
    page.add_init_script(
        f"window.clicks = 0; addEventListener('click', () => window.clicks += 1); {before}"
    )
    page.goto(f"{path.as_uri()}#{at}")
    yield shown
    context.close()
    assert shown.wrong == []
    assert {url.split("#")[0] for url in shown.asked_for} == {path.as_uri()}


def orange(pixels: np.ndarray) -> np.ndarray:
    """Which pixels have the hue of bends, however lit."""
    red, green, blue = (pixels[:, :, n] for n in range(3))
    return (red - blue > 90) & (green - blue > 30)


LOOKS = [
    (PORTRAIT, "light"),
    (PORTRAIT, "dark"),
    (LANDSCAPE, "light"),
    (LANDSCAPE, "dark"),
]


@pytest.mark.parametrize(("size", "look"), few_or_all(LOOKS[1:2], LOOKS))
def test_the_build_is_seen_and_nothing_sticks_out(browser, demo, size, look) -> None:
    with opened(browser, demo, size=size, look=look) as shown:
        assert shown.text("h1") == "Teal: mid tower, one front radiator"
        pixels = shown.seen()
        assert orange(pixels).sum() > 200
        assert orange(shown.pixels()).sum() > 200
        corner = pixels[100:140, 2:40].mean()
        assert corner > 240 if look == "light" else corner < 40
        assert {
            "1",
            "2",
            "pump.out",
            "card.in",
            "card to block",
        } <= shown.places().keys()
        for tab in ("Compare", "Bend table", "At the bench", "Take care"):
            shown.tap(tab, ".tabs")
            wide = "document.documentElement.scrollWidth"
            assert shown.page.evaluate(wide) <= size[0]
            sheet = shown.page.locator(".sheet").evaluate("one => one.scrollWidth")
            assert sheet <= shown.page.locator(".sheet").evaluate(
                "one => one.clientWidth"
            )
            small = shown.page.evaluate(
                "[...document.querySelectorAll('button, tr[data-rank]')].map(one => "
                "one.getBoundingClientRect()).filter(box => box.width && "
                f"(box.width < {FINGER} || box.height < {FINGER})).length"
            )
            assert small == 0
        # The other look, by hand.
        shown.tap("Dark or light", "header")
        turned = shown.seen()[100:140, 2:40].mean()
        assert turned < 40 if look == "light" else turned > 240


def test_runs_and_candidates_are_chosen_by_touch(browser, demo) -> None:
    with opened(browser, demo, size=SMALL) as shown:
        # On the tube itself, at its bend, whose number stands there while it is shown.
        shown.tap("front to tank", ".runs")
        x, y = shown.places()["1"]
        shown.tap("pump to card", ".runs")
        shown.press(shown.page.locator("canvas"), position={"x": x, "y": y})
        assert shown.text(".told").startswith("front to tank: front.out to tank.in")
        shown.tap("pump to card", ".runs")
        assert "candidate 1 of 3, chosen: 3 bends" in shown.text(".told")
        before = orange(shown.pixels())
        shown.press(shown.page.locator("tr[data-rank='3']"))
        assert "candidate 3 of 3: 5 bends" in shown.text(".told")
        assert (orange(shown.pixels()) ^ before).sum() > 300
        assert {"4", "5"} <= shown.places().keys()
        shown.tap("2", ".candidates")
        assert "candidate 2 of 3" in shown.text(".told")
        shown.tap("pump to valve", ".runs")
        assert "Why there is no tube" in shown.text(".sheet")
        assert "the fittings face each other 34.0 mm apart" in shown.text(".sheet")


def halves(shown: Shown) -> list[dict[str, tuple[float, float]]]:
    """Where the labels of both pictures stand, each from the corner of its picture."""
    found: list[dict[str, tuple[float, float]]] = shown.page.evaluate(
        "[...document.querySelectorAll('.labels')].map(half => { const from = "
        "half.getBoundingClientRect(); return Object.fromEntries([...half.children].map("
        "one => { const box = one.getBoundingClientRect(); return [one.textContent, "
        "[box.x + box.width / 2 - from.x, box.y + box.height / 2 - from.y]]; })); })"
    )
    return found


def unlike(shown: Shown) -> float:
    """The share of both pictures that is not alike: where one tube is, or the other."""
    pixels = shown.pixels()
    left, right = np.split(pixels, 2, axis=1)
    return float((np.abs(left - right).max(axis=2) > 40).mean())


@pytest.mark.parametrize(("size", "look"), few_or_all(LOOKS[2:3], LOOKS))
def test_two_candidates_are_seen_beside_each_other_from_one_side(
    browser, demo, size, look
) -> None:
    with opened(browser, demo, size=size, look=look) as shown:
        first = apart(shown)
        shown.tap("Side by side", ".candidates")
        left, right = halves(shown)
        assert "candidate 1, held" in left
        assert "candidate 2" in right
        assert ("5" in left, "4" in right) == (False, True)  # of 3 bends, and of 4
        assert 0.0 < unlike(shown) < 0.025
        # A row makes it another tube on the right; the left one is held.
        before = shown.pixels()
        middle = before.shape[1] // 2
        shown.press(shown.page.locator("tr[data-rank='3']"))
        after = shown.pixels()
        assert (after[:, : middle - 2] == before[:, : middle - 2]).all()
        assert (orange(after)[:, middle:] ^ orange(before)[:, middle:]).sum() > 100
        assert "5" in halves(shown)[1]
        held = shown.page.locator("tr[data-held]")
        assert held.get_attribute("data-rank") == "1"
        # A finger on the left and the wheel on the right move both.
        box = shown.page.locator("canvas").bounding_box()
        x, y = box["x"] + box["width"] / 4, box["y"] + box["height"] / 2
        wire = shown.page.context.new_cdp_session(shown.page)
        for kind, spots in (
            ("touchStart", [x]),
            ("touchMove", [x + 60]),
            ("touchEnd", []),
        ):
            points = [{"x": one, "y": y, "id": 0} for one in spots]
            wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        shown.until(lambda: differs(shown, after))
        assert 0.0 < unlike(shown) < 0.025
        for half in (np.s_[:, :middle], np.s_[:, middle:]):
            moved = np.abs(shown.pixels()[half] - after[half]).max(axis=2) > 40
            assert moved.mean() > max(0.02, 2.0 * unlike(shown))
        was = halves(shown)
        shown.page.mouse.move(x + box["width"] / 2, y)
        shown.page.mouse.wheel(0, -120)
        shown.until(lambda: halves(shown) != was)
        assert 0.0 < unlike(shown) < 0.025
        # The address keeps both; the same button lets go.
        assert shown.page.url.endswith("#run=0&rank=3&tab=compare&step=0&beside=1")
        shown.page.reload()
        assert "candidate 1, held" in halves(shown)[0]
        shown.tap("At the bench", ".tabs")
        assert halves(shown)[1] == {}
        shown.tap("Compare", ".tabs")
        shown.tap("Side by side", ".candidates")
        assert halves(shown)[1] == {}
        shown.press(shown.page.locator("tr[data-rank='1']"))
        assert apart(shown) == pytest.approx(first, rel=0.05)


def apart(shown: Shown) -> float:
    """How far the numbers of two bends are from each other [px]; they are never moved."""
    places = shown.places()
    return math.dist(places["1"], places["3"])


def differs(shown: Shown, seen: np.ndarray) -> bool:
    """Whether more than 2 % of the picture has changed."""
    return bool((np.abs(shown.pixels() - seen).max(axis=2) > 40).mean() > 0.02)


def test_fingers_mouse_and_keys_turn_and_go_nearer(browser, demo) -> None:
    with opened(browser, demo, size=SMALL) as shown:
        wire = shown.page.context.new_cdp_session(shown.page)
        box = shown.page.locator("canvas").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

        def touch(kind: str, *spots: tuple[float, float]) -> None:
            points = [
                {"x": x + dx, "y": y + dy, "id": n} for n, (dx, dy) in enumerate(spots)
            ]
            wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        before = apart(shown)
        touch("touchStart", (-40, 0), (40, 0))
        touch("touchMove", (-60, 0), (60, 0))
        touch("touchEnd")
        shown.until(lambda: apart(shown) == pytest.approx(1.5 * before, rel=0.15))
        seen = shown.pixels()
        touch("touchStart", (0, 0))
        touch("touchMove", (80, 20))
        touch("touchEnd")
        shown.until(lambda: differs(shown, seen))
        # Neither was a tap: the run is still the first.
        assert shown.text(".told").startswith("pump to card")
        views = shown.page.locator(".views")
        # No touch: the browser may take one so soon after bare fingers for their last.
        views.get_by_role("button", name="Whole").dispatch_event("click")
        assert apart(shown) == pytest.approx(before, rel=0.01)
        mouse, seen = shown.page.mouse, shown.pixels()
        mouse.move(x, y)
        mouse.wheel(0, -240)
        shown.until(lambda: apart(shown) > 1.2 * before)
        mouse.down()
        mouse.move(x + 90, y + 30)
        mouse.up()
        shown.until(lambda: differs(shown, seen))
        views.get_by_role("button", name="Above").dispatch_event("click")
        above = shown.places()
        # From above x is to the right and y up: bend 1 is at x = 100, bend 3 at 178, and
        # port pump.out at y = 300, further away than both bends at 230.
        assert above["1"][0] < above["3"][0] - 20
        assert above["pump.out"][1] < above["1"][1] - 20
        shown.page.locator("canvas").focus()
        shown.page.keyboard.press("ArrowLeft")
        shown.until(lambda: shown.places()["1"] != above["1"])


def test_the_work_goes_step_by_step_with_the_tube_turning(browser, demo) -> None:
    # The address keeps the place: a tablet that slept loads the page anew there.
    at = "run=2&rank=1&tab=bench&step=5"
    with opened(browser, demo, at=at) as shown:
        assert shown.text(".sheet h2") == "Bend 1 of 2"
        shown.tap("Next", ".onward")
        shown.tap("Next", ".onward")
        shown.tap("Back", ".onward")
        assert shown.text(".sheet h2") == "Bend 2 of 2"
        assert shown.page.url.endswith("#run=2&rank=1&tab=bench&step=6")
        assert "turn the tube 90° clockwise" in shown.text(".facts")
        assert "650 °C" in shown.text(".care")
        slider = shown.page.locator("input[type=range]")
        bent = orange(shown.pixels())
        slider.fill("0")
        assert "turn the tube 90° clockwise" in shown.places()
        assert "first end: block.out" in shown.places()
        assert (orange(shown.pixels()) ^ bent).sum() > 1000
        slider.fill("1000")
        assert "turn the tube 90° clockwise" not in shown.places()
        shown.tap("Bend table", ".tabs")
        # By hand: 30 + 39 mm to the first bend, 43.98 of it, 75 - 56 to the second.
        told = shown.text(".sheet")
        assert "69.0" in told
        assert "Bend 2 points 90 degrees anticlockwise of bend 1" in told
        size = shown.page.locator(".large td").first.evaluate(
            "one => parseFloat(getComputedStyle(one).fontSize)"
        )
        assert size >= 24


def test_a_bend_is_played_from_turning_to_bent(browser, demo) -> None:
    at = "run=2&rank=1&tab=bench&step=6"
    with opened(browser, demo, size=SMALL, motion="no-preference", at=at) as shown:
        clock, slider = shown.page.clock, shown.page.locator("input[type=range]")
        clock.install(time=0)
        clock.pause_at(3_600_000)
        shown.tap("Play", ".motion")
        assert float(slider.input_value()) == 0
        assert "turn the tube 90° clockwise" in shown.places()
        clock.fast_forward(3000)
        # Four seconds in all: half of them for the turn, half for the bend.
        assert float(slider.input_value()) == pytest.approx(750, abs=10)
        assert "turn the tube 90° clockwise" not in shown.places()
        clock.fast_forward(3000)
        assert float(slider.input_value()) == 1000


def test_hostile_names_stay_text(browser, tmp_path) -> None:
    plan = demo_build.vented_plan()
    scene = replace(
        plan.scene,
        title=BREAKING,
        components=tuple(
            replace(one, name=BREAKING + one.name) for one in plan.scene.components
        ),
    )
    runs = tuple(replace(one, name=BREAKING + one.name) for one in plan.runs)
    path = tmp_path / "plan.html"
    write_page(Plan(scene=scene, runs=runs), path)
    seen = BREAKING.replace("\u2028", "\\u2028")
    with opened(browser, path, size=SMALL) as shown:
        for tab in ("Bend table", "At the bench", "Take care", "Compare"):
            shown.tap(tab, ".tabs")
        assert shown.page.title() == seen
        assert shown.text("h1") == seen
        assert shown.page.locator(".runs button").first.inner_text() == (
            f"{seen}pump to card"
        )
        assert (
            f"{seen}card to block" in shown.page.locator(".labels").first.inner_text()
        )
        assert shown.page.locator("b, img").count() == 0
        assert shown.page.locator("script").count() == 2
        shown.page.evaluate(
            "document.body.append(Object.assign(document.createElement('script'), "
            "{textContent: 'document.title = 1'}))"
        )
        assert shown.page.title() == seen
        assert shown.wrong.pop().startswith("Executing inline script violates")


def test_without_webgl_the_words_are_all_there(browser, demo) -> None:
    off = "HTMLCanvasElement.prototype.getContext = () => null"
    with opened(browser, demo, size=SMALL, before=off) as shown:
        assert shown.page.locator(".no-picture").is_visible()
        assert shown.page.locator("tr[data-rank]").count() == 3
        shown.tap("At the bench", ".tabs")
        shown.tap("Next", ".onward")
        assert shown.text(".sheet h2") == "Make two test bends"


# --------------------------------------------------------------- the page's own geometry


@pytest.fixture(scope="module")
def asked(browser: Any) -> Callable[[str], Any]:
    """Asks the page's own geometry, its code alone on an empty page."""
    page = browser.new_page()
    for name in ("vectors", "shapes", "tubes", "bending"):
        code = (
            files("loopsolver.page").joinpath("assets", f"{name}.js").read_text("utf-8")
        )
        page.add_script_tag(content=code)
    evaluate: Callable[[str], Any] = page.evaluate
    return evaluate


def test_surfaces_lie_at_the_radius_from_the_centre_line(asked) -> None:
    """72 mm along x, a quarter turn about (72, 28) of radius 28, 52 mm along y."""
    shapes = asked("tubeShapes(tubePieces([[0,0,0],[100,0,0],[100,80,0]], 28), 7)")
    arcs = np.reshape(shapes["arcs"]["corners"], (-1, 3))
    facing = np.reshape(shapes["arcs"]["facing"], (-1, 3))
    across = np.hypot(arcs[:, 0] - 72.0, arcs[:, 1] - 28.0) - 28.0
    assert np.hypot(across, arcs[:, 2]) == pytest.approx(np.full(len(arcs), 7.0))
    assert np.linalg.norm(facing, axis=1) == pytest.approx(np.ones(len(facing)))
    straights = np.reshape(shapes["straights"]["corners"], (-1, 3))
    first = straights[straights[:, 0] < 72.0 + 1e-9]
    assert np.hypot(first[:, 1], first[:, 2]) == pytest.approx(np.full(len(first), 7.0))
    assert first[:, 0].max() == pytest.approx(72.0)


def mesh_values() -> dict[str, str]:
    """A solid of twenty faces as the page holds a mesh, its triangles looking outwards."""
    solid = trimesh.creation.icosahedron()
    shape = mesh_shape(solid.vertices, solid.faces, digest="twenty faces")
    (values,) = solids([Mesh(frame=Frame(), shape=shape)])
    return dict(values["mesh"])


def test_triangles_look_where_their_corners_face(asked) -> None:
    frame = "middle: [1, 2, 3], axes: [[1,0,0],[0,1,0],[0,0,1]]"
    for shape in (
        "joined(Object.values(tubeShapes(tubePieces([[0,0,0],[9,0,0],[9,8,0]], 3), 1)))",
        f"solidShape({{box: [10, 20, 30], {frame}}})",
        f"solidShape({{cylinder: [10, 20], {frame}}})",
        "coneShape([0,0,0], [0,0,9], 4)",
        f"solidShape({{mesh: {json.dumps(mesh_values())}}})",
    ):
        # Typed arrays come over as objects.
        found = asked(
            f"(() => {{ const {{corners, facing, triangles}} = {shape}; return "
            "{corners: [...corners], facing: [...facing], triangles: [...triangles]}; })()"
        )
        corners = np.reshape(found["corners"], (-1, 3))
        facing = np.reshape(found["facing"], (-1, 3))
        a, b, c = np.reshape(found["triangles"], (-1, 3)).T
        out = np.cross(corners[b] - corners[a], corners[c] - corners[a])
        flat = np.linalg.norm(out, axis=1) > 1e-9  # a cone's tip
        if "mesh" in shape:  # round the origin
            assert len(facing) == 60
            assert (np.einsum("ij,ij->i", corners, facing) > 0.0).all()
        leans = np.einsum("ij,ij->i", out, facing[a] + facing[b] + facing[c])
        assert (leans[flat] > 0.0).all()


def random_table(rng: np.random.Generator) -> BendTable:
    bends = [
        Bend(
            straight=float(rng.uniform(5, 90)),
            rotation_deg=float(rng.uniform(-180, 180)) if n else 0.0,
            angle_deg=float(rng.uniform(10, 120)),
        )
        for n in range(int(rng.integers(1, 6)))
    ]
    return BendTable(bends=tuple(bends), closing_straight=40.0, radius=28.0)


def bench_of(table: BendTable) -> str:
    return json.dumps(
        {
            "radius": table.radius,
            "trim": 0.0,
            "takeUp": 1.0,
            "closing": table.closing_straight,
            "bends": [
                {
                    "straight": bend.straight,
                    "rotation": bend.rotation_deg,
                    "angle": bend.angle_deg,
                    "held": bend.angle_deg,
                }
                for bend in table.bends
            ],
        }
    )


def test_the_bent_tube_at_the_bench_is_the_tube_of_the_table(asked) -> None:
    """At every bend in hand, moved and turned as a whole but never mirrored.

    The tube as `lay_forward` has it, another piece of code; brought over each other by
    W. Kabsch's rotation (Acta Crystallographica A32, 1976), which cannot mirror.
    """
    rng = np.random.default_rng(16)
    for _ in range(20):
        table = random_table(rng)
        line = lay_forward(
            table, start=(0, 0, 0), direction=(1, 0, 0), first_bend_towards=(0, 1, 0)
        )
        for bend in range(len(table.bends)):
            turn = rng.uniform(-3, 3)
            places = asked(
                f"(() => {{ const bench = {bench_of(table)}; return tubePlaces("
                f"piecesAtBench(bench, {{...bentState(bench), bend: {bend}, "
                f"turn: {turn}}}), 1e6); }})()"
            )
            expected = tangent_points(line)
            assert len(places) == len(expected)
            mine, theirs = np.array(places), expected
            _, apart = Rotation.align_vectors(
                mine - mine.mean(0), theirs - theirs.mean(0)
            )
            assert apart < 1e-4  # the root of a difference of squares


def tangent_points(line: Centreline) -> np.ndarray:
    """Both ends, and where each bend starts and ends."""
    return np.asarray(sample(line, spacing=1e6))


def test_the_tube_is_turned_as_the_words_say_and_bends_to_the_left(asked) -> None:
    """Bend 2 lies 90 degrees clockwise: the tube is turned 90 degrees anticlockwise.

    Seen from the first end, that is along +x, a right hand whose thumb points there has
    its fingers go clockwise: from +y to +z. So what lay at +y ends at -z.
    """
    table = BendTable(
        bends=(
            Bend(straight=30.0, rotation_deg=0.0, angle_deg=90.0),
            Bend(straight=40.0, rotation_deg=90.0, angle_deg=60.0),
        ),
        closing_straight=50.0,
        radius=28.0,
    )

    def ends(share: float) -> tuple[np.ndarray, np.ndarray]:
        found = asked(
            f"(() => {{ const bench = {bench_of(table)}; const pieces = piecesAtBench("
            f"bench, stateAt(bench, 1, {share})); return [pieceAt(pieces[0], 0), "
            "pieceEnd(pieces[pieces.length - 1])]; })()"
        )
        return np.array(found[0]), np.array(found[1])

    first, last = ends(0.0)
    # As bend 1 was made: level. It turned to the left until it ran along +x, so before
    # it ran along -y, from a first end at +y.
    assert first[2] == pytest.approx(0.0, abs=1e-9)
    assert first[1] > 20.0
    assert last[1:] == pytest.approx([0.0, 0.0], abs=1e-9)
    turned, _ = ends(0.5)
    assert turned[2] == pytest.approx(-first[1])
    assert turned[1] == pytest.approx(0.0, abs=1e-9)
    _, last = ends(1.0)
    assert last[1] > 20.0
    assert last[2] == pytest.approx(0.0, abs=1e-9)
