"""Try a freshly soldered board by hand, before the program is on it. MicroPython.

    mpremote run hardware/try_board.py

It lights the lamps and beeps, then says once a second what it sees: both lines of the gauge, the
button, the cell, the text line, the bridge converter, and who answers on the motion sensor's bus.
What is not soldered yet may say anything. The guide says what to do meanwhile. Ctrl-C ends it.
"""

import sys
import time

# The same numbers as in the firmware's boards/pins.py; a test holds them together.
PICO = {
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
ESP32S3 = {
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
}
_SENSORS = {0x68: "a motion sensor", 0x69: "a motion sensor, AD0 high", 0x6A: "a motion sensor"}


def pins_here(platform):
    """Return the pins of the board that this runs on."""
    return ESP32S3 if platform == "esp32" else PICO


def gauge_words(data, clock):
    """Return what the levels at the processor's pins say of the gauge's lines."""
    lines = []
    for name, level in (("data", data), ("clock", clock)):
        lines.append("%s %s" % (name, "low or no cable" if level else "HIGH at the plug"))
    return ", ".join(lines)


def cell_words(millivolt):
    """Return what the divider says."""
    if millivolt < 500:
        return "cell: off or none"
    if millivolt > 4300:
        return "cell: %d mV: R28 and R29 are not the same" % millivolt
    return "cell: %d mV" % millivolt


def bus_words(addresses):
    """Return who answers on the bus; None: its lines are not pulled up."""
    if addresses is None:
        return "bus: no pull-ups"
    if not addresses:
        return "bus: nobody"
    known = [_SENSORS.get(address, "0x%02x" % address) for address in addresses]
    return "bus: " + ", ".join(known)


def _show(machine, pins):
    green = machine.Pin(pins["lamp_green"], machine.Pin.OUT)
    red = machine.Pin(pins["lamp_red"], machine.Pin.OUT)
    for lamp, name in ((green, "green"), (red, "red")):
        print(name, "lamp")
        lamp.value(1)
        time.sleep_ms(800)
        lamp.value(0)
    print("beep")
    beeper = machine.PWM(machine.Pin(pins["beeper"]), freq=2_700, duty_u16=1 << 15)
    time.sleep_ms(300)
    beeper.deinit()


def _battery(machine, pins):
    if sys.platform == "esp32":
        adc = machine.ADC(machine.Pin(pins["battery"]), atten=machine.ADC.ATTN_11DB)
        return lambda: adc.read_uv() // 500
    adc = machine.ADC(machine.Pin(pins["battery"]))
    return lambda: adc.read_u16() * 6_600 // 65_535


def _bus(machine, pins):
    """Return the addresses that answer; a bus without pull-ups would take for ever to say so."""
    lines = [machine.Pin(pins[role]) for role in ("motion_sda", "motion_scl")]
    for line in lines:
        # Emptied first: on RP2350 a pull-down alone does not bring a charged line down.
        line.init(machine.Pin.OUT, value=0)
        line.init(machine.Pin.IN, machine.Pin.PULL_DOWN)
        if not line.value():
            return None
    return machine.SoftI2C(sda=lines[0], scl=lines[1], freq=100_000).scan()


def _hears_itself(uart):
    """Say whether the text line hears what it sends: RX and TX are joined at the plug."""
    uart.read()
    uart.write(b"?")
    time.sleep_ms(50)
    return uart.read() == b"?"


def main(machine, rounds=None):
    """Run until Ctrl-C, or for a number of seconds."""
    pins = pins_here(sys.platform)

    def read(role):
        return machine.Pin(pins[role], machine.Pin.IN, machine.Pin.PULL_UP)

    # The request line first of all: let go.
    machine.Pin(pins["gauge_request"], machine.Pin.OUT, value=0)
    machine.Pin(pins["bridge_clock"], machine.Pin.OUT, value=0)
    _show(machine, pins)
    data, clock, button, ready = [
        read(role) for role in ("gauge_data", "gauge_clock", "button", "bridge_data")
    ]
    battery = _battery(machine, pins)
    uart = machine.UART(
        1, 9_600, tx=machine.Pin(pins["torque_tx"]), rx=machine.Pin(pins["torque_rx"])
    )
    while rounds is None or rounds > 0:
        print(gauge_words(data.value(), clock.value()))
        print("  button", "up" if button.value() else "DOWN", end="; ")
        print(cell_words(battery()), end="; ")
        print("text line", "hears itself" if _hears_itself(uart) else "hears nothing", end="; ")
        print("bridge", "waits (or none)" if ready.value() else "has a value", end="; ")
        print(bus_words(_bus(machine, pins)))
        time.sleep_ms(1000)
        if rounds is not None:
            rounds -= 1


if __name__ == "__main__":
    import machine

    main(machine)
