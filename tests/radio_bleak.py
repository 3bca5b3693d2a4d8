"""bleak's backend on the stacks of radio_air.py: what each system's backend does, on bumble."""

import asyncio
import contextlib

from bleak.assigned_numbers import gatt_char_props_to_strs
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakError, BleakGATTProtocolError
from bleak.uuids import normalize_uuid_str
from bumble import att, core
from bumble.core import AdvertisingData
from bumble.device import Peer

_SMALLEST_MTU = 23


def _uuid(value):
    return normalize_uuid_str(value.to_hex_str("-"))


class AirScanner(BaseBleakScanner):
    """Listens with the air's host."""

    air = None

    def __init__(self, detection_callback, service_uuids, scanning_mode, **options):
        super().__init__(detection_callback, service_uuids)

    async def start(self):
        self.seen_devices = {}
        self._host = self.air.host
        self._host.on("advertisement", self._hear)
        await self._host.start_scanning(active=True)

    async def stop(self):
        self._host.remove_listener("advertisement", self._hear)
        await self._host.stop_scanning()

    def _hear(self, advertisement):
        address = advertisement.address.to_string(False)
        said = advertisement.data
        kinds = AdvertisingData.Type
        services = {
            _uuid(uuid): bytes(data) for uuid, data in said.get_all(kinds.SERVICE_DATA_128_BIT_UUID)
        }
        name = said.get(kinds.COMPLETE_LOCAL_NAME)
        if address in self.seen_devices:  # the scan response belongs to what came before it
            before = self.seen_devices[address][1]
            name = name or before.local_name
            services = {**before.service_data, **services}
        data = AdvertisementData(name, {}, services, [], None, advertisement.rssi, (advertisement,))
        device = self.create_or_update_device(address, address, name, advertisement.address, data)
        self.call_detection_callbacks(device, data)


def scanner_on(air):
    """Return the scanner's class for an air."""
    return type("AirScanner", (AirScanner,), {"air": air})


@contextlib.contextmanager
def _errors():
    try:
        yield
    except att.ATT_Error as error:
        raise BleakGATTProtocolError(int(error.error_code)) from error
    except core.BaseBumbleError as error:
        raise BleakError(str(error)) from error
    except asyncio.CancelledError as error:
        if asyncio.current_task().cancelling():
            raise
        raise BleakError("disconnected") from error  # bumble cancels what waits for an answer


class AirClient(BaseBleakClient):
    """Connects with the air's host."""

    air = None

    def __init__(self, address_or_ble_device, **options):
        super().__init__(address_or_ble_device, **options)
        self._device = address_or_ble_device
        self._connection = None

    @property
    def name(self):
        return self._device.name

    @property
    def mtu_size(self):
        return self._connection.att_mtu if self._connection else _SMALLEST_MTU

    @property
    def is_connected(self):
        return self._connection is not None

    async def connect(self, pair, **options):
        try:
            async with self.air.connecting:  # a controller opens one connection at a time
                connection = await self.air.host.connect(
                    self._device.details, timeout=self._timeout
                )
        except core.TimeoutError as error:
            raise TimeoutError from error
        if connection.handle not in self.air.host.connections:
            raise BleakError("disconnected")
        self._connection = connection
        connection.on("disconnection", self._gone)
        with _errors():
            peer = Peer(connection)
            if self.air.mtu > _SMALLEST_MTU:
                await peer.request_mtu(self.air.mtu)
            self.services = await self._discover(peer)

    async def _discover(self, peer):
        found = BleakGATTServiceCollection()
        for service in await peer.discover_services():
            mine = BleakGATTService(service, service.handle, _uuid(service.uuid))
            found.add_service(mine)
            for characteristic in await service.discover_characteristics():
                await characteristic.discover_descriptors()
                found.add_characteristic(
                    BleakGATTCharacteristic(
                        characteristic,
                        characteristic.handle,
                        _uuid(characteristic.uuid),
                        list(gatt_char_props_to_strs(int(characteristic.properties))),
                        lambda: self.mtu_size - 3,
                        mine,
                    )
                )
        return found

    def _gone(self, reason):
        self._connection = None
        if self._disconnected_callback:
            self._disconnected_callback()

    async def disconnect(self):
        if self._connection:
            with contextlib.suppress(core.BaseBumbleError):
                await self._connection.disconnect()

    async def pair(self, *_, **__):
        raise NotImplementedError

    async def unpair(self):
        raise NotImplementedError

    async def read_gatt_char(self, characteristic, **options):
        with _errors():
            return bytearray(await characteristic.obj.read_value())

    async def read_gatt_descriptor(self, descriptor, **options):
        raise NotImplementedError

    async def write_gatt_char(self, characteristic, data, response):
        if self._connection is None:
            raise BleakError("Not connected")
        if len(data) > self.mtu_size - 3:
            raise BleakError(f"{len(data)} bytes do not fit the MTU of {self.mtu_size}")
        with _errors():
            await characteristic.obj.write_value(bytes(data), with_response=response)

    async def write_gatt_descriptor(self, descriptor, data):
        raise NotImplementedError

    async def start_notify(self, characteristic, callback, **options):
        if self._connection is None:
            raise BleakError("Not connected")
        with _errors():
            await characteristic.obj.subscribe(lambda value: callback(bytearray(value)))

    async def stop_notify(self, characteristic):
        with _errors():
            await characteristic.obj.unsubscribe()


def client_on(air):
    """Return the client's class for an air."""
    return type("AirClient", (AirClient,), {"air": air})
