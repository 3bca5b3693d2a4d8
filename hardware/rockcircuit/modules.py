"""The ready-made modules, and which pin of the processor board does what.

The table HARDWARE_PINS is the hardware's own word on the matter; `checks.py` holds the firmware's
table (boards/pins.py) against it, so that neither can move alone.

Source: the processor boards' public pin-out drawings and data sheets; the other modules as they
are commonly sold, from memory: compare the names printed on yours.
"""

from rockcircuit.model import Act, Kind, Pin

# What the processor's pin does to its net, for each role of the firmware.
ROLE_ACTS = {
    "gauge_data": Act.INPUT,
    "gauge_clock": Act.INPUT,
    "gauge_request": Act.OUTPUT,
    "torque_tx": Act.OUTPUT,
    "torque_rx": Act.INPUT,
    "bridge_data": Act.INPUT,
    "bridge_clock": Act.OUTPUT,
    "motion_sda": Act.BOTH_WAYS,
    "motion_scl": Act.BOTH_WAYS,
    "button": Act.INPUT,
    "lamp_green": Act.OUTPUT,
    "lamp_red": Act.OUTPUT,
    "beeper": Act.OUTPUT,
    "battery": Act.INPUT,
}
GPIO_MOST_V = 3.6  # absolute limit is the I/O supply plus 0.5 V (RP2040, RP2350) or 0.3 V (ESP32)

_PICO_ROLES = dict(
    zip(ROLE_ACTS, (2, 3, 6, 8, 9, 10, 11, 4, 5, 15, 16, 17, 18, 26), strict=True)
)  # fmt: skip
HARDWARE_PINS = {
    "pico_w": _PICO_ROLES,
    "pico2_w": _PICO_ROLES,
    "esp32s3": dict(zip(ROLE_ACTS, (4, 5, 6, 17, 18, 15, 16, 8, 9, 7, 10, 11, 12, 1), strict=True)),
}

# Pin number by place, "GP" and the GPIO number, or what else the pin is.
_PICO = (
    "GP0 GP1 GND GP2 GP3 GP4 GP5 GND GP6 GP7 GP8 GP9 GND GP10 GP11 GP12 GP13 GND GP14 GP15 "
    "GP16 GP17 GND GP18 GP19 GP20 GP21 GND GP22 RUN GP26 GP27 AGND GP28 ADC_VREF 3V3 3V3_EN GND "
    "VSYS VBUS"
)
PICO_ROW = tuple(_PICO.split())
# Two rows of 22: left row 1-22, right row 23-44.
_ESP32S3 = (
    "3V3 3V3 RST GP4 GP5 GP6 GP7 GP15 GP16 GP17 GP18 GP8 GP3 GP46 GP9 GP10 GP11 GP12 GP13 GP14 "
    "5V GND "
    "GND GP43 GP44 GP1 GP2 GP42 GP41 GP40 GP39 GP38 GP37 GP36 GP35 GP0 GP45 GP48 GP47 GP21 GP20 "
    "GP19 GND GND"
)
ESP32S3_ROW = tuple(_ESP32S3.split())
_NAMES = {
    "pico_w": "Pico W with headers",
    "pico2_w": "Pico 2 W with headers",
    "esp32s3": "ESP32-S3 board, two rows of 22 pins",
}
_SUPPLIES = {
    # Pico: 3V3 is its own supply's output; VSYS takes 1.8 to 5.5 V; VBUS is the USB socket's 5 V.
    "3V3": Pin("", "3V3", Act.SUPPLY),
    "VBUS": Pin("", "VBUS", Act.SUPPLY),
    "VSYS": Pin("", "VSYS", Act.SUPPLIED, 1.8, 5.5),
    "5V": Pin("", "5V", Act.SUPPLIED, 2.7, 5.5),
    "GND": Pin("", "GND", Act.SUPPLIED, 0.0, 0.0),
    "AGND": Pin("", "AGND", Act.SUPPLIED, 0.0, 0.0),
}


def processor(board: str) -> Kind:
    """Return the processor board's kind; pins of the same name are GND, GND-2, GND-3 …"""
    acts = {f"GP{gpio}": ROLE_ACTS[role] for role, gpio in HARDWARE_PINS[board].items()}
    row = PICO_ROW if board != "esp32s3" else ESP32S3_ROW
    pins: list[Pin] = []
    for number, name in enumerate(row, 1):
        seen = sum(other == name for other in row[: number - 1])
        unique = f"{name}-{seen + 1}" if seen else name
        if name in _SUPPLIES:
            like = _SUPPLIES[name]
            act = Act.PASSIVE if seen and like.act is Act.SUPPLY else like.act
            pins.append(Pin(str(number), unique, act, like.least_v, like.most_v))
        else:
            pins.append(Pin(str(number), unique, acts.get(name, Act.BOTH_WAYS), 0.0, GPIO_MOST_V))
    footprint = "Module:RaspberryPi_Pico_Common_THT" if board != "esp32s3" else "2 rows of 22"
    return Kind(_NAMES[board], "processor", tuple(pins), footprint, 7.00 if "pico" in board else 10)


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
