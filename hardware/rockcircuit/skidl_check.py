"""A second opinion on the circuit: SKiDL's electrical rule check, and the netlist it writes.

SKiDL gets the parts and nets, and judges by rules of its own; warnings count as faults. The netlist
in KiCad's form is read back with another library and compared pin by pin. Pins of transistors and
converter are held against the symbols that SKiDL brings along (made from KiCad's libraries).

SKiDL is large, so it is no part of the test suite's installation: `make hardware` brings it.
"""

import contextlib
import logging
import os
import tempfile
import warnings
from collections.abc import Iterator
from importlib import import_module
from typing import Any

import sexpdata

from rockcircuit.model import Act, Circuit, Kind

_ACTS = {
    Act.PASSIVE: "PASSIVE",
    Act.INPUT: "INPUT",
    Act.OUTPUT: "OUTPUT",
    Act.OPEN_COLLECTOR: "OPENCOLL",
    Act.BOTH_WAYS: "BIDIR",
    Act.SUPPLIED: "PWRIN",
    Act.SUPPLY: "PWROUT",
}
# Our kind → (library, symbol) of SKiDL, for those whose legs can be told apart only by number.
_SYMBOLS = {"BC547C": ("Transistor_BJT", "BC547"), "BC337-40": ("Transistor_BJT", "BC337")}


@contextlib.contextmanager
def _aside() -> Iterator[None]:
    """Let SKiDL write its logs where nobody minds."""
    with tempfile.TemporaryDirectory(prefix="rockhold-skidl-") as folder:
        before = os.getcwd()  # noqa: PTH109 (a path to go back to, nothing more)
        os.chdir(folder)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                yield
        finally:
            os.chdir(before)


def _skidl() -> Any:
    for version in ("", *range(5, 11)):  # it complains of each library folder that is not there
        os.environ.setdefault(f"KICAD{version}_SYMBOL_DIR", tempfile.gettempdir())
    with contextlib.redirect_stderr(None):
        skidl = import_module("skidl")
    skidl.set_default_tool(skidl.SKIDL)
    return skidl


def check(circuit: Circuit) -> tuple[list[str], str]:
    """Return (faults, netlist in KiCad's form) of a circuit."""
    with _aside():
        skidl = _skidl()
        built = _build(skidl, circuit)
        notes = _Notes()
        skidl.erc_logger.addHandler(notes)
        with contextlib.redirect_stderr(None):
            built.ERC()
            netlist = str(built.generate_netlist(tool=skidl.KICAD9))
        skidl.erc_logger.removeHandler(notes)
        counts = skidl.erc_logger.error.count, skidl.erc_logger.warning.count
    faults = notes.texts
    if any(counts) and not faults:
        faults = [f"SKiDL: {counts[0]} errors, {counts[1]} warnings"]
    return faults + list(compare(circuit, netlist)), netlist


class _Notes(logging.Handler):
    """Keeps what SKiDL's check says."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.texts: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.texts.append(f"SKiDL: {record.getMessage()}")


def _build(skidl: Any, circuit: Circuit) -> Any:
    built = skidl.Circuit()
    templates: dict[str, Any] = {}
    nets: dict[str, Any] = {}
    for part in circuit.parts:
        if part.kind.name not in templates:
            templates[part.kind.name] = _template(skidl, part.kind)
        one = templates[part.kind.name](
            ref=part.ref, value=part.value or part.kind.name, circuit=built, tag=part.ref
        )
        for pin in part.kind.pins:
            if pin.name in part.unused:
                built.NC += one[pin.number]
            elif pin.name in part.wires:
                net = part.wires[pin.name]
                if net not in nets:
                    nets[net] = skidl.Net(net, circuit=built)
                    nets[net].drive = skidl.POWER if net in circuit.rails_v else nets[net].drive
                nets[net] += one[pin.number]
    return built


def _template(skidl: Any, kind: Kind) -> Any:
    pins = [
        skidl.Pin(num=pin.number, name=pin.name, func=getattr(skidl.Pin.types, _ACTS[pin.act]))
        for pin in kind.pins
    ]
    return skidl.Part(
        name=kind.name,
        tool=skidl.SKIDL,
        dest=skidl.TEMPLATE,
        ref_prefix="X",
        pins=pins,
        footprint=kind.footprint,
        tag=kind.name,
    )


def compare(circuit: Circuit, netlist: str) -> Iterator[str]:
    """Yield a sentence for each net of a KiCad netlist that differs from the circuit's."""
    ours = {
        name: {(end.part.ref, end.pin.number) for end in ends}
        for name, ends in circuit.nets().items()
    }
    theirs: dict[str, set[tuple[str, str]]] = {}
    for net in _find(sexpdata.loads(netlist), "net"):
        name = str(_find(net, "name")[0][1])
        theirs[name] = {
            (str(_find(node, "ref")[0][1]), str(_find(node, "pin")[0][1]))
            for node in _find(net, "node")
        }
    for name in sorted(set(ours) | set(theirs)):
        if ours.get(name, set()) != theirs.get(name, set()) and not _is_open(name, ours):
            yield f"netlist: {name} differs from the circuit"


def _is_open(name: str, ours: dict[str, set[tuple[str, str]]]) -> bool:
    return name not in ours and name.startswith("__NOCONNECT")


def _find(tree: Any, word: str) -> list[Any]:
    """Return the branches that begin with a word, at any depth."""
    if not isinstance(tree, list):
        return []
    here = [tree] if tree and isinstance(tree[0], sexpdata.Symbol) and str(tree[0]) == word else []
    return here + [found for branch in tree for found in _find(branch, word)]


def legs(circuit: Circuit) -> Iterator[str]:
    """Yield a sentence for each transistor whose legs another library numbers differently."""
    with _aside():
        skidl = _skidl()
        for kind in dict.fromkeys(part.kind for part in circuit.parts):
            if kind.name not in _SYMBOLS:
                continue
            library, symbol = _SYMBOLS[kind.name]
            with contextlib.redirect_stderr(None):
                known = skidl.Part(library, symbol, dest=skidl.TEMPLATE, tool=skidl.SKIDL)
            theirs = {str(pin.num): str(pin.name) for pin in known.pins}
            ours = {pin.number: pin.name for pin in kind.pins}
            if ours != theirs:
                yield f"{kind.name}: legs {ours} here, {theirs} in SKiDL's library"
