"""The loose parts: ordinary types that many makers sell, with pins as their data sheets count them.

Source of pin numbers and limits: the types' public data sheets, from memory; `make hardware` holds
the transistors' pins against the symbols that SKiDL brings along. Prices are estimates.
"""

from rockcircuit.model import Act, Kind, Pin

_A, _B = Pin("1", "1"), Pin("2", "2")
_CATHODE, _ANODE = Pin("1", "K"), Pin("2", "A")
_DO35 = "Diode_THT:D_DO-35_SOD27_P7.62mm_Horizontal"
_TO92 = "Package_TO_SOT_THT:TO-92_Inline_Wide"


def _npn(name: str, remark: str) -> Kind:
    # Flat face towards you, legs down: 1 left, 3 right.
    pins = (Pin("1", "C", Act.OPEN_COLLECTOR), Pin("2", "B", Act.INPUT), Pin("3", "E"))
    return Kind(name, "npn", pins, _TO92, 0.10, remark)


def header(name: str, names: tuple[str, ...], price_eur: float, remark: str = "") -> Kind:
    """Return a row of contacts: a socket that a cable leaves by, or a jumper."""
    symbol = "jumper" if name.startswith("jumper") else "socket"
    pins = tuple(Pin(str(number), text) for number, text in enumerate(names, 1))
    count = f"1x{len(names):02d}"
    footprint = f"Connector_PinHeader_2.54mm:PinHeader_{count}_P2.54mm_Vertical"
    return Kind(name, symbol, pins, footprint, price_eur, remark)


RESISTOR = Kind(
    "resistor, 1 %, 0.25 W",
    "resistor",
    (_A, _B),
    "Resistor_THT:R_Axial_DIN0207_L6.3mm_D2.5mm_P7.62mm_Horizontal",
    0.05,
)
CAPACITOR = Kind(
    "ceramic capacitor, 16 V or more",
    "capacitor",
    (_A, _B),
    "Capacitor_THT:C_Disc_D5.0mm_W2.5mm_P5.00mm",
    0.10,
)
SIGNAL_NPN = _npn(
    "BC547C", "the C at the end matters: gain. A 2N3904 has its legs the other way round"
)
DRIVER_NPN = _npn("BC337-40", "any NPN for 0.5 A with the same legs")
SIGNAL_DIODE = Kind("1N4148", "diode", (_CATHODE, _ANODE), _DO35, 0.05, "ring = cathode")
SMALL_SCHOTTKY = Kind("BAT85", "schottky", (_CATHODE, _ANODE), _DO35, 0.15, "ring = cathode")
POWER_SCHOTTKY = Kind(
    "1N5817",
    "schottky",
    (_CATHODE, _ANODE),
    "Diode_THT:D_DO-41_SOD81_P10.16mm_Horizontal",
    0.15,
    "ring = cathode",
)
ZENER = Kind(
    "Zener diode BZX55C6V8, 0.5 W",
    "zener",
    (_CATHODE, _ANODE),
    _DO35,
    0.10,
    "ring = cathode. Not 5.1 V: those leak at 1.5 V",
)
GREEN_LAMP = Kind(
    "LED, 5 mm, green, 2.1 V", "led", (_CATHODE, _ANODE), "LED_THT:LED_D5.0mm", 0.10, "flat = K"
)
RED_LAMP = Kind(
    "LED, 5 mm, red, 1.9 V", "led", (_CATHODE, _ANODE), "LED_THT:LED_D5.0mm", 0.10, "flat = K"
)
BEEPER = Kind(
    "magnetic beeper without generator, 42 Ω, 2.7 kHz",
    "beeper",
    (Pin("1", "+"), Pin("2", "-")),
    "Buzzer_Beeper:Buzzer_12x9.5RM7.6",
    1.00,
    "at least 40 Ω; one with a generator of its own only clicks",
)
BUTTON = Kind(
    "push button, panel, closes when pressed", "button", (_A, _B), "panel", 0.80, "12 mm hole"
)
SWITCH = Kind(
    "slide switch, 0.5 A", "switch", (Pin("1", "A"), Pin("2", "B")), "panel", 0.60, "two contacts"
)
FUSE = Kind(
    "resettable fuse, holds 0.5 A, trips at 1 A",
    "fuse",
    (_A, _B),
    "Fuse:Fuse_BelFuse_0ZRE0005FF_L8.3mm_W3.8mm",
    0.40,
)
CELL = Kind(
    "lithium-polymer cell with protection, 1000 mAh, at most 50 x 34 x 8 mm",
    "cell",
    (Pin("1", "+", Act.SUPPLY), Pin("2", "-", Act.SUPPLY)),
    "wired",
    8.00,
    "measure its polarity: plugs differ",
)
JUMPER_2 = header("jumper, 2 pins", ("1", "2"), 0.10)
JUMPER_3 = header("jumper, 3 pins", ("1", "2", "3"), 0.15)
