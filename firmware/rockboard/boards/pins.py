"""Which pin does what, for every board: the one table that code and build guide follow.

Numbers are the GPIO numbers of the chip. `None`: the board has no such part or the chip needs none.
The lines of the gauge pass a level shifter that turns them round (setting `inverted`). The request
line drives a transistor: high pulls the gauge's line low.
"""

import sys

ROLES = (
    "gauge_data",
    "gauge_clock",
    "gauge_request",
    "torque_tx",
    "torque_rx",
    "bridge_data",
    "bridge_clock",
    "motion_sda",
    "motion_scl",
    "button",  # to ground when pressed
    "lamp_green",
    "lamp_red",
    "beeper",
    "battery",  # analogue, half the battery's voltage
)

_PICO = {
    "gauge_data": 2,
    "gauge_clock": 3,
    "gauge_request": 6,
    "torque_tx": 8,
    "torque_rx": 9,
    "bridge_data": 10,
    "bridge_clock": 11,
    "motion_sda": 4,
    "motion_scl": 5,
    "button": 15,
    "lamp_green": 16,
    "lamp_red": 17,
    "beeper": 18,
    "battery": 26,
}

PINS = {
    "pico_w": _PICO,
    "pico2_w": _PICO,
    "esp32s3": {
        "gauge_data": 4,
        "gauge_clock": 5,
        "gauge_request": 6,
        "torque_tx": 17,
        "torque_rx": 18,
        "bridge_data": 15,
        "bridge_clock": 16,
        "motion_sda": 8,
        "motion_scl": 9,
        "button": 7,
        "lamp_green": 10,
        "lamp_red": 11,
        "beeper": 12,
        "battery": 1,
    },
    # The Unix port has no pins; numbers stand for channels of the simulator.
    "unix": {role: number for number, role in enumerate(ROLES)},
}


def pins_of(board: str) -> dict:
    """Return the row of one board, and let go of the others where room is short."""
    row = PINS[board]
    if hasattr(sys.implementation, "_mpy"):
        PINS.clear()
    return row
