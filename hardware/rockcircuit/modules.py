"""The ready-made modules beside the processor board.

Source: as they are commonly sold, from memory: compare the names printed on yours.
"""

from rockcircuit.model import Act, Kind, Pin


def _module(name: str, pins: tuple[Pin, ...], price_eur: float, remark: str) -> Kind:
    numbered = tuple(
        Pin(str(number), pin.name, pin.act, pin.least_v, pin.most_v)
        for number, pin in enumerate(pins, 1)
    )
    return Kind(name, "module", numbered, "module on pins", price_eur, remark)


def _pin(name: str, act: Act = Act.PASSIVE, least_v: float = 0, most_v: float = 3.6) -> Pin:
    return Pin("", name, act, least_v, most_v)


_GROUND = _pin("GND", Act.SUPPLIED, 0.0, 0.0)

CHARGER = _module(
    "charger for one lithium cell, with protection (TP4056 and DW01 type)",
    (
        _pin("IN+", Act.SUPPLIED, 4.5, 6.0),
        _pin("IN-", Act.SUPPLIED, 0.0, 0.0),
        _pin("B+", Act.SUPPLIED, 2.4, 4.3),
        _pin("B-", Act.SUPPLIED, 0.0, 0.0),
        _pin("OUT+", Act.SUPPLY, 0.0, 6.0),
        _pin("OUT-", Act.SUPPLY, 0.0, 6.0),
    ),
    1.20,
    "its current must suit the cell: 500 mA for 1000 mAh (2.4 kΩ at its PROG pin, not 1.2 kΩ)",
)
RS232 = _module(
    "TTL/RS-232 converter for 3.3 V (MAX3232 type)",
    (
        _pin("VCC", Act.SUPPLIED, 3.0, 5.5),
        _GROUND,
        _pin("T1IN", Act.INPUT),
        _pin("R1OUT", Act.OUTPUT),
        _pin("T1OUT", Act.OUTPUT, 0.0, 13.2),
        _pin("R1IN", Act.INPUT, 0.0, 25.0),
    ),
    2.50,
    "a 3.3 V type; MAX232 without the 3 needs 5 V and would hurt the processor",
)
BRIDGE = _module(
    "24-bit bridge converter (HX711 type)",
    (
        _pin("VCC", Act.SUPPLIED, 2.7, 5.5),
        _GROUND,
        _pin("DT", Act.OUTPUT),
        _pin("SCK", Act.INPUT),
        _pin("E+", Act.SUPPLY),
        _pin("E-", Act.SUPPLIED, 0.0, 0.0),
        _pin("A+", Act.INPUT),
        _pin("A-", Act.INPUT),
        _pin("B+", Act.INPUT),
        _pin("B-", Act.INPUT),
    ),
    2.00,
    "on 3.3 V, never on 5 V: its data line follows its supply",
)
MOTION = _module(
    "6-axis motion sensor (MPU-6050 type)",
    (
        _pin("VCC", Act.SUPPLIED, 3.0, 5.5),
        _GROUND,
        _pin("SCL", Act.INPUT),
        _pin("SDA", Act.BOTH_WAYS),
        _pin("XDA", Act.BOTH_WAYS),
        _pin("XCL", Act.OUTPUT),
        _pin("AD0", Act.INPUT),
        _pin("INT", Act.OUTPUT),
    ),
    3.00,
    "or LSM6DS3 type; the settings name it",
)
