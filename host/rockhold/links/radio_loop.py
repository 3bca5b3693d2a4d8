"""One event loop in a thread of its own, for a library that knows only asyncio.

A radio belongs to the whole program, so there is one loop; it starts with the first question to it.
What bleak and the system's radio raise becomes one of our errors in `through`, nowhere else.
"""

import asyncio
import concurrent.futures
import threading
from collections.abc import Coroutine
from typing import Any, TypeVar

from rockhold.errors import LinkError, NoBoardError

_T = TypeVar("_T")


class RadioLoop:
    """Runs coroutines for callers that block."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._loop: asyncio.AbstractEventLoop | None = None

    def call(self, work: Coroutine[Any, Any, _T], limit_s: float) -> _T:
        """Run a coroutine and return what it returns.

        Raises:
            TimeoutError: When it takes longer; it is cancelled.
            Exception: Whatever the coroutine raises.
        """
        future = asyncio.run_coroutine_threadsafe(work, self._running())
        try:
            return future.result(limit_s)
        except concurrent.futures.CancelledError as error:
            raise ConnectionError("it was given up in mid-work") from error
        finally:
            future.cancel()  # does nothing to one that is done

    def _running(self) -> asyncio.AbstractEventLoop:
        with self._lock:
            if self._loop is None:
                self._loop = asyncio.new_event_loop()
                threading.Thread(
                    target=self._loop.run_forever, name="rockhold radio", daemon=True
                ).start()
            return self._loop


LOOP = RadioLoop()


def through(work: Coroutine[Any, Any, _T], limit_s: float, kind: type[LinkError], where: str) -> _T:
    """Run work on the radio; whatever goes wrong there becomes an error of the given kind.

    bleak promises no more than BleakError, but each system's radio has errors of its own that come
    through; a fault of the radio must end as a lost link, not as a fault of this program.
    """
    try:
        return LOOP.call(work, limit_s)
    except ImportError as error:
        raise NoBoardError(
            f"the radio needs the package bleak, which does not load here ({error}). Install it "
            "(pip install bleak), or use the cable"
        ) from error
    except TimeoutError as error:
        raise kind(f"{where}: the board's radio does not answer. Bring it nearer") from error
    except Exception as error:
        words = str(error).strip() or type(error).__name__
        raise kind(f"{where}: {_meaning(error)} ({words})") from error


def _meaning(error: Exception) -> str:
    names = {kind.__name__ for kind in type(error).__mro__}
    if "BleakBluetoothNotAvailableError" in names or isinstance(error, FileNotFoundError):
        return "this computer has no radio for Bluetooth, or it is switched off; use the cable"
    if "BleakDeviceNotFoundError" in names:
        return "the board is not heard any more; bring it nearer"
    return "the radio reports a fault; bring the board nearer, or use the cable"
