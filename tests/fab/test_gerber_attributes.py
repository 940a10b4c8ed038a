"""Net, pin, component and file attributes, as a plain search and as pygerber (a reader of others) sees them."""

from __future__ import annotations

import re
import uuid
from dataclasses import replace

import pytest

from modboard.artwork.model import Artwork, Flash, Layer, Owner, Stroke
from modboard.fab.attributes import escaped, guid
from modboard.fab.gerber import gerber_layer
from modboard.fab.names import LAYER_FILES
from modboard.fab.readback.extended import unescaped
from modboard.fab.readback.gerber import read_gerber
from tests.fab.boards import FORMS, artwork_of
from tests.fab.third_party import pygerber_attributes
from tests.sample import NETS, sample_artwork, sample_board


def layer_text(name: str, artwork: Artwork | None = None) -> str:
    """Return a layer of the sample as a file."""
    artwork = artwork or sample_artwork()
    return gerber_layer(artwork.layer(name), artwork)  # type: ignore[arg-type]


def test_file_functions_and_polarities_are_those_of_the_table() -> None:
    """GLFS 5.6.3 and 5.6.4, for a board of two layers."""
    expected = {
        "copper-top": ("Copper,L1,Top", "Positive"),
        "copper-bottom": ("Copper,L2,Bot", "Positive"),
        "mask-top": ("Soldermask,Top", "Negative"),
        "mask-bottom": ("Soldermask,Bot", "Negative"),
        "legend-top": ("Legend,Top", "Positive"),
        "legend-bottom": ("Legend,Bot", "Positive"),
        "paste-top": ("Paste,Top", "Positive"),
        "paste-bottom": ("Paste,Bot", "Positive"),
        "profile": ("Profile,NP", "Positive"),
        "score": ("Vcut", "Positive"),
    }
    assert expected == LAYER_FILES
    for layer in sample_artwork().layers:
        function, polarity = expected[layer.name]
        text = layer_text(layer.name)
        assert f"%TF.FileFunction,{function}*%" in text and f"%TF.FilePolarity,{polarity}*%" in text


def test_layers_of_one_board_share_the_mark_of_alignment() -> None:
    """GLFS 5.6.6: the same .SameCoordinates says that files align."""
    marks = {
        re.search(r"%TF\.SameCoordinates,([^*]*)\*%", layer_text(layer.name))[1] for layer in sample_artwork().layers
    }  # type: ignore[index]
    assert len(marks) == 1
    assert uuid.UUID(marks.pop()).version == 4


def test_project_is_named_with_a_guid_of_version_4() -> None:
    """GLFS 5.6.8: name, GUID (RFC 4122 version 1 or 4), revision."""
    found = re.search(r"%TF\.ProjectId,([^,*]*),([^,*]*),([^,*]*)\*%", layer_text("profile"))
    assert found and (found[1], found[3]) == ("sample-buffer", "1")
    identity = uuid.UUID(found[2])
    assert identity.version == 4 and identity.variant == uuid.RFC_4122


def test_guid_follows_the_design_and_nothing_else() -> None:
    """Equal designs give equal files; other words give another GUID, also if only the split differs."""
    assert guid("a", "b") == guid("a", "b")
    assert len({guid("a", "b"), guid("ab"), guid("a", "b", ""), guid("b", "a")}) == 4


def test_date_is_written_only_when_asked_for() -> None:
    """GLFS 5.6.5: ISO 8601 with zone."""
    artwork = sample_artwork()
    dated = gerber_layer(artwork.layer("profile"), artwork, created="2025-01-31T12:00:00+00:00")
    assert "%TF.CreationDate,2025-01-31T12:00:00+00:00*%" in dated
    assert "CreationDate" not in layer_text("profile")


@pytest.mark.parametrize("name", ["copper-top", "copper-bottom"])
def test_pygerber_sees_net_and_pin_on_all_copper(name: str) -> None:
    """Every object carries .N and a function; every land of a pin carries .P; vias do not (GLFS 5.6.13, 5.6.14)."""
    file_attributes, objects = pygerber_attributes(layer_text(name))
    assert file_attributes[".FileFunction"] == LAYER_FILES[name][0]  # type: ignore[index]
    clear = sum(1 for o in read_gerber(layer_text(name)).objects if not o.dark)
    bare = [o for o in objects if ".N" not in o]
    assert len(bare) == clear  # only what erases has no net
    pins = {o[".P"]: (o[".N"], o[".AperFunction"]) for o in objects if ".P" in o}
    wanted = {}
    for pad in sample_board().pads:
        if name.removeprefix("copper-") in pad.layers:
            pin = ",".join((pad.reference, pad.number) + ((pad.pin_name,) if pad.pin_name else ()))
            wanted[pin] = (pad.net or "N/C", "ComponentPad" if pad.hole else "SMDPad,CuDef")
    assert pins == wanted
    assert {o[".N"] for o in objects if o.get(".AperFunction") == "ViaPad"} == {"SIG", "GND"}
    assert all(".P" not in o for o in objects if o.get(".AperFunction") in ("ViaPad", "Conductor"))


def test_pygerber_sees_the_parts_on_the_legend() -> None:
    """GLFS 5.6.15 and 5.6.16: .C with value, footprint, mounting, height, turn."""
    _, objects = pygerber_attributes(layer_text("legend-top"))
    parts = {o[".C"]: o for o in objects if ".C" in o}
    assert set(parts) == {"U1", "R1", "R2", "C1", "J1", "J2"}
    r1 = parts["R1"]
    assert (r1[".CVal"], r1[".CFtp"], r1[".CMnt"], r1[".CHgt"], r1[".CRot"]) == (
        "100k",
        "sample-axial",
        "TH",
        "2.5",
        "0",
    )
    assert parts["C1"][".CMnt"] == "SMD"
    assert {o[".AperFunction"] for o in objects} == {"Material"}


def test_our_reader_and_pygerber_agree_on_every_object() -> None:
    """Two readers, one file: the same attributes in the same order."""
    for layer in sample_artwork().layers:
        text = layer_text(layer.name)
        ours = [{k: ",".join(v) for k, v in o.attributes.items()} for o in read_gerber(text).objects]
        _, theirs = pygerber_attributes(text)
        assert ours == theirs


def test_nets_on_copper_are_the_designs_nets() -> None:
    """No name is lost or added between description and files."""
    _, objects = pygerber_attributes(layer_text("copper-bottom"))
    assert {o[".N"] for o in objects if ".N" in o} == {name for name, _ in NETS} | {"N/C"}


@pytest.mark.parametrize(
    ("plain", "written"),
    [
        ("GND", "GND"),
        ("A,B", r"A\u002CB"),
        ("50%", r"50\u0025"),
        ("/CS*", r"/CS\u002A"),
        ("C:\\", r"C:\u005C"),
        ("4k7Ω", r"4k7\u03A9"),
        ("𝛀", r"\U0001D6C0"),
        ("a\nb", r"a\u000Ab"),
    ],
)
def test_fields_are_escaped_by_code_point(plain: str, written: str) -> None:
    """GLFS 3.4.3: % * , and \\ must be escaped inside a field; so is everything that is not printable ASCII."""
    assert escaped(plain) == written
    assert unescaped(written) == plain


def test_a_hostile_name_cannot_leave_its_field() -> None:
    """A net and a part whose names try to end the command, start another and end the file."""
    evil = "A*%\nM02*\n%TF.Part,Array*%"
    features = (
        Flash(FORMS[0], (0.0, 0.0), 0.0, "surface-pad", Owner(evil, evil, evil, evil)),
        Stroke(((0.0, 0.0), (1.0, 0.0)), 0.25, "conductor", Owner(evil)),
    )
    artwork = artwork_of(*features)
    hostile = replace(artwork, board=replace(artwork.board, description=replace(artwork.board.description, name=evil)))
    text = gerber_layer(Layer("copper-top", features), hostile)
    assert text.count("M02*") == 1 and "Part,Array" not in text.replace(r"\u002C", "")
    pad, _ = read_gerber(text).objects
    assert pad.attributes[".P"] == (evil, evil, evil)


def test_attributes_of_one_object_do_not_stick_to_the_next() -> None:
    """GLFS 5.5: what an object does not have must be deleted before it."""
    features = (
        Flash(FORMS[0], (0.0, 0.0), 0.0, "surface-pad", Owner("A", "U1", "1", "OUT")),
        Flash(FORMS[0], (3.0, 0.0), 0.0, "surface-pad", Owner("A", "U1", "2")),
        Flash(FORMS[0], (6.0, 0.0), 0.0, "via-pad", Owner("B")),
        Stroke(((0.0, 5.0), (1.0, 5.0)), 0.25, "non-conductor"),
    )
    objects = read_gerber(gerber_layer(Layer("copper-top", features), artwork_of(*features))).objects
    seen = [{k: v for k, v in o.attributes.items() if k in (".N", ".P")} for o in objects]
    assert seen == [
        {".N": ("A",), ".P": ("U1", "1", "OUT")},
        {".N": ("A",), ".P": ("U1", "2")},
        {".N": ("B",)},
        {".N": ("",)},
    ]
