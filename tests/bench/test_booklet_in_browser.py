"""The booklet in a real browser: ticks last, nets light, hints name the place, hostile names do nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely.geometry import Point

from modboard import Design
from modboard.artwork.draw import draw
from modboard.bench.sheet import bench_sheet
from modboard.layout import layout
from modboard.view.booklet import booklet
from tests.bench import browser as web
from tests.bench.accessible import announced, name, problems, role, tree
from tests.bench.boards import ISLANDS, straits_board
from tests.bench.injection import resistance
from tests.bench.meter import Faulty, Meter, copper_faults, harmful
from tests.sample import sample_artwork, sample_board

pytestmark = pytest.mark.skipif(bool(web.MISSING), reason=web.MISSING)
HOSTILE = "</script><script>window.bad=1</script><img src=x onerror='window.bad=1'>\"'&amp;`${window.bad=1}"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("booklet") / "booklet.html"
    path.write_text(booklet(bench_sheet(sample_board()), sample_artwork()), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[web.Browser]:
    window = web.Browser(tmp_path_factory.mktemp("profile"))
    yield window
    window.close()


@pytest.fixture
def window(shared: web.Browser, page: Path) -> web.Browser:
    """A window with the page open at its start and nothing remembered."""
    shared.size(1280, 900)
    shared.open_afresh(page, {})
    shared.log()
    shared.requests()
    return shared


def turn_to(window: web.Browser, words: str) -> None:
    """Turn to the first leaf with these words in its title."""
    window.run("go(facts.leaves.findIndex(leaf => leaf.title.includes(arguments[0])))", words)


def test_a_tick_outlives_the_page(window: web.Browser, page: Path) -> None:
    turn_to(window, "stay whole")
    window.press("input[type=checkbox]", 1)
    before = window.run("return document.getElementById('farsaid').textContent")
    assert before.startswith("1 of ")
    window.open(page)
    assert window.run("return [...document.querySelectorAll('.leaf.open input')].map(e => e.checked)")[:3] == [
        False, True, False,
    ]  # fmt: skip
    assert window.run("return document.getElementById('farsaid').textContent") == before
    assert "stay whole" in window.run("return document.querySelector('.leaf.open h2').textContent")


def test_a_tapped_pad_lights_its_net_and_no_other(window: web.Browser) -> None:
    turn_to(window, "Sample buffer")
    where = window.run(
        "const pad = facts.pads.find(p => p.p === arguments[0]), m = document.getElementById('live').getScreenCTM();"
        "const [x, y] = board.place(pad.at), p = new DOMPoint(x, y).matrixTransform(m); return [p.x, p.y]",
        "R1.1",
    )
    window.tap(*where)
    lit = window.run("return [...new Set([...document.querySelectorAll('#scene .lit')].map(e => e.dataset.n))]")
    names = window.run("return facts.nets")
    assert [names[int(n)] for n in lit] == ["SIG"]
    total = window.run("return document.querySelectorAll('#scene [data-n=\"' + arguments[0] + '\"]').length", lit[0])
    assert window.run("return document.querySelectorAll('#scene .lit').length") == total
    sides = window.run(
        "return [...document.querySelectorAll('#scene .lit')].map(e => e.parentElement.getAttribute('class'))"
    )
    assert set(sides) == {"near", "far"}  # through both sides
    said = window.run("return document.getElementById('say').textContent")
    assert said.startswith("R1.1 is on SIG")


def test_a_failed_probe_gives_the_place(window: web.Browser) -> None:
    """Pressed as a person would: the pair that the one signal via carries stays silent, all others beep."""
    board = sample_board()
    whole = bench_sheet(board).whole
    via = next(n for n, s in enumerate(whole.suspects) if s.what == "hole" and s.at == (8.0, 9.08))
    turn_to(window, "SIG")
    keys = window.run("return [...document.querySelectorAll('.leaf.open .probe')].map(e => e.dataset.k)")
    for n, key in enumerate(keys):
        silent = via in whole.probes[int(key[2:])].suspects
        window.press(f".leaf.open .probe .{'bad' if silent else 'good'}", n)
    told = window.run("return document.querySelector('.leaf.open .told').textContent")
    assert "via of SIG not plated through" in told
    assert "cold joint" not in told  # nothing is soldered yet
    assert window.run("return document.querySelectorAll('#over .ring').length") >= 1


def test_hints_hold_for_every_fault_of_copper(shared: web.Browser, tmp_path: Path) -> None:
    """What a meter finds on boards with one fault, entered: the faulty place is among those the hint lists."""
    board = straits_board()
    sheet, faulty, page = bench_sheet(board), Faulty(board), tmp_path / "straits.html"
    page.write_text(booklet(sheet, draw(board)), encoding="utf-8")
    shared.open(page)
    sound = Meter(faulty, None, False, resistance)
    tried = necks = 0
    for fault in copper_faults(faulty):
        meter = Meter(faulty, fault, False, resistance)
        if fault.kind == "bridge" or not harmful(sound, meter):
            continue
        beeps = [meter.one(p.red, p.black) for p in sheet.whole.probes]
        groups = shared.run(
            "memory.all = {}; arguments[0].forEach((beep, n) => { memory.all['bw' + n] = beep ? 'good' : 'bad'; });"
            "return suspects('b').map(g => g.breaks.map(k => facts.breaks[k]).map(b => [...b.at, b.s, b.w]))",
            beeps,
        )
        assert len(groups) == 1, "one fault is explained by one fault"
        if fault.kind == "cut":
            at, kind = fault.area.centroid, "track"
            x, y = at.x, at.y
            near = [b for b in groups[0] if kind in b[3] and b[2] == fault.layer]
            assert min(abs(b[0] - x) + abs(b[1] - y) for b in near) < 12.0
            assert fault.net in near[0][3]
        elif fault.kind == "neck":
            near = [b for b in groups[0] if "neck" in b[3] and b[2] == fault.layer and fault.net in b[3]]
            assert min(fault.area.distance(Point(b[0], b[1])) for b in near) < 1e-3
            necks += 1
        else:
            x, y = fault.thing.at if fault.kind == "via" else faulty.names[str(fault.thing)].at  # type: ignore[union-attr]
            assert any(abs(b[0] - x) + abs(b[1] - y) < 1e-3 for b in groups[0])
        tried += 1
    assert tried > 80
    assert necks == len(ISLANDS)


def test_a_bridge_is_named(window: web.Browser) -> None:
    board = sample_board()
    first = bench_sheet(board).apart[0]
    turn_to(window, "alone")
    rows = window.run(
        "return [...document.querySelectorAll('.leaf.open .probe')].findIndex(e => e.dataset.k === 'bs0')"
    )
    window.press(".leaf.open .probe .bad", rows)
    told = window.run("return document.querySelector('.leaf.open .told').textContent")
    assert all(net in told for net in first.pair.nets)
    assert first.pair.sites[0].words in told


def test_a_second_bridge_between_other_pieces_of_the_same_nets_is_no_echo(shared: web.Browser, tmp_path: Path) -> None:
    """Etched at home, GND and VCC are several pieces of copper each: two bridges there are two faults, three of a ring
    are two (a graph that joins n pieces needs n - 1 edges)."""
    made = sample_board()
    rules = replace(made.description.rules, layers_plated=False, mask=False, legend=False)
    home = replace(made, description=replace(made.description, rules=rules))
    sheet, page = bench_sheet(home), tmp_path / "home.html"
    page.write_text(booklet(sheet, draw(home)), encoding="utf-8")
    shared.open(page)
    found = "memory.all = {}; arguments[0].forEach(n => { memory.all['bs' + n] = 'bad'; }); return bridges('b')"
    pairs = {n: s.pair for n, s in enumerate(sheet.all_apart) if n >= len(sheet.apart)}
    two = [n for n, p in pairs.items() if p.keys in (("GND, bottom 0", "VCC, bottom 0"), ("GND, top 3", "VCC, top 0"))]
    told = shared.run(found, two)
    assert sorted(told["real"]) == two
    assert told["follow"] == []
    ring = ("OUT, top 0", "SIG, top 0"), ("SIG, top 0", "VCC, top 0"), ("OUT, top 0", "VCC, top 0")
    three = [n for n, p in pairs.items() if p.keys in ring]
    told = shared.run(found, three)
    assert [len(three), len(told["real"]), len(told["follow"])] == [3, 2, 1]


def test_readings_are_judged(shared: web.Browser, tmp_path: Path) -> None:
    """A 5 V rail is right from 4.75 to 5.25 V (supply range of 74-series data sheets); what is entered stays."""
    board = Design("rail", outline=(40, 30))
    board.part("J1", "wire-pads-1x2", pins="V5 GND")
    board.part("R1", "resistor", "1k")
    board.net("V5", "J1.V5 R1.1", volts=5)
    board.net("GND", "J1.GND R1.2")
    made = layout(board)
    page = tmp_path / "rail.html"
    page.write_text(booklet(bench_sheet(made), draw(made)), encoding="utf-8")
    shared.size(1280, 900)
    shared.open(page)
    turn_to(shared, "V5 at J1.1")
    enter = (
        "const i = document.querySelector('.leaf.open .entry input'); i.value = arguments[0];"
        "i.dispatchEvent(new Event('input')); return i.parentElement.querySelector('output').textContent"
    )
    assert shared.run(enter, "5,02") == "right"
    assert shared.run(enter, "4.7").startswith("too low: Nothing: a break")
    assert shared.run(enter, "5.3").startswith("too high")
    assert shared.run(enter, "no idea") == ""
    assert shared.run(enter, "4.76") == "right"
    shared.open(page)
    turn_to(shared, "V5 at J1.1")
    assert shared.run("return document.querySelector('.leaf.open .entry input').value") == "4.76"
    turn_to(shared, "no power")
    assert shared.run(enter, "1k") == "right"  # R1 alone: 1 kΩ
    assert shared.run(enter, "12").startswith("too low: Below 100 Ω: do not power it")


def test_keys_turn_pages_and_answer(window: web.Browser) -> None:
    window.type("ArrowRight")
    assert window.run("return open") == 1
    turn_to(window, "Hear")
    window.run("document.activeElement.blur()")
    window.type("g")
    window.type("b")
    said = window.run("return [...document.querySelectorAll('.leaf.open .probe')].map(e => memory.get(e.dataset.k))")
    assert said[:2] == ["good", "bad"]
    before = window.run("return board.side")
    window.type("t")
    assert window.run("return board.side") != before


def test_two_fingers_zoom(window: web.Browser) -> None:
    area = window.run(
        "const r = document.getElementById('live').getBoundingClientRect(); return [r.x, r.y, r.width, r.height]"
    )
    x, y = area[0] + area[2] / 2, area[1] + area[3] / 2
    wide = window.run("return board.box[2]")

    def fingers(kind: str, apart: float) -> None:
        points = [] if kind == "touchEnd" else [{"x": x - apart, "y": y, "id": 0}, {"x": x + apart, "y": y, "id": 1}]
        window.devtools("Input.dispatchTouchEvent", type=kind, touchPoints=points)

    window.devtools("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
    fingers("touchStart", 30)
    for apart in (40, 50, 60):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
    window.devtools("Emulation.setTouchEmulationEnabled", enabled=False)
    assert window.run("return board.box[2]") == pytest.approx(wide / 2, rel=0.15)


@pytest.mark.parametrize("width", [360, 1600])
def test_every_leaf_fits_its_screen(window: web.Browser, width: int) -> None:
    window.size(width, 800)
    count = window.run("return pages.length")
    for number in range(count):
        window.run("go(arguments[0])", number)
        wide = window.run(
            "return [document.documentElement.scrollWidth, document.querySelector('.leaf.open').scrollWidth]"
        )
        assert max(wide) <= width, number
    names = window.run(
        "return [...document.querySelectorAll('button, input, select, a')].filter(e => !(e.textContent.trim() ||"
        "e.getAttribute('aria-label') || (e.labels && e.labels.length))).length"
    )
    assert names == 0  # everything one can operate has a name
    small = window.run(
        "return [...document.querySelectorAll('.leaf.open button, .turner button')]"
        ".filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 40).length"
    )
    assert small == 0  # fingers hit 44 px, WCAG 2.2 asks for 24


def test_every_leaf_can_be_heard(window: web.Browser) -> None:
    for number in range(window.run("return pages.length")):
        window.run("go(arguments[0])", number)
        nodes = tree(window)
        assert problems(nodes) == [], number
        title = window.run("return document.querySelector('.leaf.open h2').textContent")
        assert [name(n) for n in nodes if role(n) == "article"] == [
            f"Page {number + 1} of {window.run('return pages.length')}: {title}"
        ]
    window.run(
        "document.getElementById('turn').removeAttribute('type'); document.getElementById('turn').textContent = ''"
    )
    assert problems(tree(window)) == ["button without a name"]  # the check can fail


def test_what_changes_is_announced(window: web.Browser) -> None:
    """The pair in hand, the board turned over, progress, and the hint with its place."""
    turn_to(window, "SIG")
    assert announced(tree(window))[0].startswith("Red on ")
    window.press("#turn")
    assert announced(tree(window)) == ["Seen from the top"]
    breaks = "return facts.whole[facts.leaves[open].probes[arguments[0]].i].some(k => facts.breaks[k].t !== 'joint')"
    rows = range(window.run("return facts.leaves[open].probes.length"))
    window.press(".leaf.open .probe .bad", next(n for n in rows if window.run(breaks, n)))
    nodes = tree(window)
    assert announced(nodes)[0].startswith("Look here: ")
    assert window.run("return document.querySelector('.leaf.open .told li').textContent") in announced(nodes)[0]
    bar = next(n for n in nodes if role(n) == "progressbar")
    assert bar["description"]["value"].startswith("1 of ")
    here = window.run("return document.querySelectorAll('[aria-current=step]').length")
    assert here == 1


def test_keys_of_one_letter_can_be_turned_off(window: web.Browser) -> None:
    """WCAG 2.2, 2.1.4: who speaks to the machine, or leans on a key, must not answer by it."""
    turn_to(window, "Hear")
    window.press("#keys")
    window.type("g")
    answers = "return [...document.querySelectorAll('.leaf.open .probe')].map(e => memory.get(e.dataset.k))"
    assert not any(window.run(answers))
    window.press("#keys")
    window.type("g")
    assert window.run(answers)[0] == "good"


def test_nothing_leaves_the_page_and_nothing_complains(window: web.Browser, page: Path) -> None:
    window.requests()
    window.open(page)
    for number in range(window.run("return pages.length")):
        window.run("go(arguments[0])", number)
    assert window.log() == []
    asked = [url for url in window.requests() if url != "about:blank"]
    assert asked
    assert all(url.startswith(("file://", "data:")) for url in asked)


def test_hostile_names_do_nothing(shared: web.Browser, tmp_path: Path) -> None:
    board = Design("hostile", outline=(40, 30), title=HOSTILE)
    board.part("J1", "wire-pads-1x3", pins=["<b>V</b>", "</script>", "'\"&"], note=HOSTILE)
    board.part("R1", "resistor", HOSTILE, note=HOSTILE)
    board.part("C1", "electrolytic", f"10u {HOSTILE}")
    board.net("<img/src=x/onerror=window.bad=1>", "J1.1 R1.1 C1.+", volts=5)
    board.net("'-alert(1)-'", "R1.2 J1.3")
    board.net("GND", "J1.2 C1.-")
    board.wire("J1.1", host=HOSTILE, undo=HOSTILE)
    board.cut(HOSTILE, undo=HOSTILE)
    board.note(HOSTILE)
    made = layout(board)
    page = tmp_path / "hostile.html"
    page.write_text(booklet(bench_sheet(made), draw(made)), encoding="utf-8")
    shared.log()
    shared.open(page)
    for number in range(shared.run("return pages.length")):
        shared.run("go(arguments[0])", number)
    assert shared.run("return window.bad === undefined")
    assert shared.run("return document.querySelectorAll('img, b[onerror], script[src]').length") == 0
    assert shared.run("return document.querySelector('h1').textContent").startswith(HOSTILE)
    assert shared.log() == []
    asked = [url for url in shared.requests() if url != "about:blank"]
    assert all(url.startswith(("file://", "data:")) for url in asked)


def test_print_shows_every_leaf(window: web.Browser) -> None:
    window.devtools("Emulation.setEmulatedMedia", media="print")
    shown = window.run("return [...document.querySelectorAll('.leaf')].filter(e => e.getClientRects().length).length")
    assert shown == window.run("return pages.length")
    assert window.run("return document.querySelector('.page.bench').getClientRects().length") == 0
    stills = window.run("return [...document.querySelectorAll('.still')].filter(e => e.getClientRects().length).length")
    assert stills == shown
    window.devtools("Emulation.setEmulatedMedia", media="")
