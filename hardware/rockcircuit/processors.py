"""The processor boards: one row each, which pin does what, and how the board is fed.

The pins are the hardware's own word on the matter; pin_table.py holds the firmware's table
(boards/pins.py) against them, so that neither can move alone.

Source: the boards' public pin-out drawings and data sheets, from memory for the ESP32-S3 board.
"""

from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Processor:
    """A processor board.

    Attributes:
        name: As the parts list says it.
        gpios: The GPIO number of each role, in the order of ROLE_ACTS.
        row: Its pins by place: "GP" and the GPIO number, or what else the pin is.
        round: Whether the places are counted down one row and up the other; else down both.
        supply: The pin that takes the cell's voltage.
        usb: The pin that gives the USB socket's 5 V; None where there is none that also works
            while the cell feeds the board: the charger's own socket serves instead.
        footprint: Of KiCad.
        price_eur: Estimate.
    """

    name: str
    gpios: tuple[int, ...]
    row: tuple[str, ...]
    round: bool
    supply: str
    usb: str | None
    footprint: str
    price_eur: float

    @property
    def pins(self) -> dict[str, int]:
        """Return role → GPIO number."""
        return dict(zip(ROLE_ACTS, self.gpios, strict=True))


# Pins by place.
_PICO = (
    "GP0 GP1 GND GP2 GP3 GP4 GP5 GND GP6 GP7 GP8 GP9 GND GP10 GP11 GP12 GP13 GND GP14 GP15 "
    "GP16 GP17 GND GP18 GP19 GP20 GP21 GND GP22 RUN GP26 GP27 AGND GP28 ADC_VREF 3V3 3V3_EN GND "
    "VSYS VBUS"
)
# Left row 1-22, right row 23-44.
_ESP32S3 = (
    "3V3 3V3 RST GP4 GP5 GP6 GP7 GP15 GP16 GP17 GP18 GP8 GP3 GP46 GP9 GP10 GP11 GP12 GP13 GP14 "
    "5V GND "
    "GND GP43 GP44 GP1 GP2 GP42 GP41 GP40 GP39 GP38 GP37 GP36 GP35 GP0 GP45 GP48 GP47 GP21 GP20 "
    "GP19 GND GND"
)


def _pico(name: str) -> Processor:
    return Processor(
        name,
        (2, 3, 6, 8, 9, 10, 11, 4, 5, 15, 16, 17, 18, 26),
        tuple(_PICO.split()),
        round=True,
        supply="VSYS",
        usb="VBUS",
        footprint="Module:RaspberryPi_Pico_Common_THT",
        price_eur=7.00,
    )


PROCESSORS = {
    "pico_w": _pico("Pico W with headers"),
    "pico2_w": _pico("Pico 2 W with headers"),
    "esp32s3": Processor(
        "ESP32-S3 board, two rows of 22 pins",
        (4, 5, 6, 17, 18, 15, 16, 8, 9, 7, 10, 11, 12, 1),
        tuple(_ESP32S3.split()),
        round=False,
        supply="5V",
        usb=None,
        footprint="2 rows of 22",
        price_eur=10.00,
    ),
}
BOARDS = tuple(PROCESSORS)
_SUPPLIES = {
    # Pico: 3V3 is its own supply's output; VSYS takes 1.8 to 5.5 V; VBUS is the USB socket's 5 V.
    "3V3": Pin("", "3V3", Act.SUPPLY),
    "VBUS": Pin("", "VBUS", Act.SUPPLY),
    "VSYS": Pin("", "VSYS", Act.SUPPLIED, 1.8, 5.5),
    "5V": Pin("", "5V", Act.SUPPLIED, 2.7, 5.5),
    "GND": Pin("", "GND", Act.SUPPLIED, 0.0, 0.0),
    "AGND": Pin("", "AGND", Act.SUPPLIED, 0.0, 0.0),
}


def kind_of(board: str) -> Kind:
    """Return the processor board's kind; pins of the same name are GND, GND-2, GND-3 …"""
    one = PROCESSORS[board]
    acts = {f"GP{gpio}": ROLE_ACTS[role] for role, gpio in one.pins.items()}
    pins: list[Pin] = []
    for number, name in enumerate(one.row, 1):
        seen = sum(other == name for other in one.row[: number - 1])
        unique = f"{name}-{seen + 1}" if seen else name
        if name in _SUPPLIES:
            like = _SUPPLIES[name]
            act = Act.PASSIVE if seen and like.act is Act.SUPPLY else like.act
            pins.append(Pin(str(number), unique, act, like.least_v, like.most_v))
        else:
            pins.append(Pin(str(number), unique, acts.get(name, Act.BOTH_WAYS), 0.0, GPIO_MOST_V))
    return Kind(one.name, "processor", tuple(pins), one.footprint, one.price_eur)
