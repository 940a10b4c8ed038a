"""Compares the nets that written copper and holes make with the design's, and with the test netlist."""

from __future__ import annotations

from modboard.artwork.model import Artwork
from modboard.check.findings import Findings
from modboard.fab.readback.connectivity import Connectivity, PinName
from modboard.fab.readback.layer import ReadObject
from modboard.fab.readback.package import COPPERS, ReadPackage

OPENS = ("open", "unrouted", "pad-missing")
SHORTS = ("short",)
_LANDS = ("ComponentPad", "SMDPad", "ViaPad")
_THROUGH = ("ComponentPad", "ViaPad")


def net_differences(joined: Connectivity, artwork: Artwork, findings: Findings = ()) -> list[str]:
    """Return opens and shorts against the design, and copper whose net names do not agree with what it joins."""
    net_of = artwork.board.description.net_of()
    expected: dict[str, set[PinName]] = {}
    for pad in artwork.board.pads:
        net = net_of.get((pad.reference, pad.number)) or f"no net ({pad.reference}.{pad.number})"
        expected.setdefault(net, set()).add((pad.reference, pad.number))
    groups: dict[PinName, set[int]] = {}
    for number, copper in enumerate(joined.nets):
        for pin in copper.pins:
            groups.setdefault(pin, set()).add(number)
    found: list[str] = []
    owners: dict[int, list[str]] = {}
    for net, pins in sorted(expected.items()):
        if not _waived(findings, OPENS, net):
            found += _opens(net, pins, groups)
        for number in sorted(set().union(*(groups.get(pin, set()) for pin in pins))):
            owners.setdefault(number, []).append(net)
    found += [
        f"nets {' and '.join(nets)} are joined"
        for _, nets in sorted(owners.items())
        if len(nets) > 1 and not _waived(findings, SHORTS, *nets)
    ]
    strangers = sorted(set(groups) - {pin for pins in expected.values() for pin in pins})
    found += [f"pin {reference}.{number} is in the files but not in the design" for reference, number in strangers]
    return found + _wrong_names(joined, owners)


def _opens(net: str, pins: set[PinName], groups: dict[PinName, set[int]]) -> list[str]:
    found = [f"net {net}: pin {r}.{n} has no copper" for r, n in sorted(pins) if (r, n) not in groups]
    pieces = set().union(*(groups.get(pin, set()) for pin in pins))
    return found + ([f"net {net}: its pins lie on {len(pieces)} separate pieces of copper"] if len(pieces) > 1 else [])


def _wrong_names(joined: Connectivity, owners: dict[int, list[str]]) -> list[str]:
    """Return copper that carries the name (.N) of a net whose pins it does not reach."""
    found = []
    for number, copper in enumerate(joined.nets):
        names = copper.names - {"", "N/C"}
        nets = owners.get(number, [])
        if nets and names - set(nets):
            found.append(f"copper of {', '.join(nets)} is marked {', '.join(sorted(names))}")
        elif not nets and len(names) > 1:
            found.append(f"copper without a pin is marked {', '.join(sorted(names))}")
    return found


def netlist_differences(package: ReadPackage, joined: Connectivity, findings: Findings = ()) -> list[str]:
    """Return test points that lie on no copper, and nets of the test netlist that the copper does not bear out."""
    if package.netlist is None:
        return ["no test netlist (.ipc)"]
    name = package.netlist.name
    found: list[str] = []
    groups: dict[str, set[int]] = {}
    nets: dict[int, set[str]] = {}
    records = [r for r in package.netlist.records if r.code in ("317", "327")]
    for record in records:
        group = joined.group_at(1 if record.side == "02" else 0, record.at)
        if group is None:
            found.append(f"{name}:{record.line}: {record.reference}-{record.pin} lies on no copper")
        elif record.net != "N/C":
            groups.setdefault(record.net, set()).add(group)
            nets.setdefault(group, set()).add(record.net)
    found += [
        f"{name}: net {net} is in {len(pieces)} pieces"
        for net, pieces in sorted(groups.items())
        if len(pieces) > 1 and not _waived(findings, OPENS, net)
    ]
    found += [
        f"{name}: nets {', '.join(sorted(joined_nets))} are joined"
        for joined_nets in nets.values()
        if len(joined_nets) > 1 and not _waived(findings, SHORTS, *joined_nets)
    ]
    lands = len(_lands(package))
    return found + ([f"{name}: {len(records)} test points for {lands} lands"] if len(records) != lands else [])


def _lands(package: ReadPackage) -> set[tuple[object, ...]]:
    """Return every land of the files; one that goes through the board counts once."""
    return {
        (item.at, item.attributes.get(".P", ())[:2], item.field(".N"), "" if _through(item) else function)
        for function, layer in package.layers.items()
        if function in COPPERS
        for item in layer.objects
        if item.kind == "flash" and item.field(".AperFunction") in _LANDS
    }


def _through(item: ReadObject) -> bool:
    return item.field(".AperFunction") in _THROUGH


def _waived(findings: Findings, rules: tuple[str, ...], *nets: str) -> bool:
    """Tell whether a finding of one of `rules` that speaks of all `nets` was waived."""
    said = [f"{f.where} {f.message}" for f in findings if f.waived and f.rule in rules]
    return any(all(net in words for net in nets) for words in said)
