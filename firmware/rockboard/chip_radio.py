"""The radio of a chip, where there is one."""


def radio_with(seats: int):
    """Return (MicroPython's bluetooth, how many hosts its stack holds); None without a radio.

    MicroPython's BTstack (Pico W, Pico 2 W) holds one connection, its NimBLE (ESP32) several.
    Source: extmod/btstack/btstack_config_common.h of MicroPython, MAX_NR_HCI_CONNECTIONS.
    """
    try:
        import bluetooth
    except ImportError:
        return None
    return bluetooth, seats
