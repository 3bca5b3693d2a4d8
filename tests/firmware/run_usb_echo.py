"""Send back what comes over the console's link, until a zero byte; then say how long it took.

    micropython run_usb_echo.py < terminal > terminal

The rounds of a real board: read what is there, write what the host takes, never wait for either.
"""

import time

from rockboard.usb_link import UsbLink

link = UsbLink()
waiting = b""
ended = False
longest_us = 0
while not ended or waiting:
    begin = time.ticks_us()
    data = link.read()
    took = link.write(waiting)
    longest_us = max(longest_us, time.ticks_diff(time.ticks_us(), begin))
    waiting = waiting[took:] + data
    ended = ended or b"\x00" in data
    if not data and not took:
        time.sleep_ms(1)
print("longest", longest_us)
