from rockhold.capture import names as header_names
from rockhold.library import names


def test_different_vehicles_stay_different():
    numbers = ["R-101", "R-11", "R-1", "101", "0101", "R 101"]
    assert len({names.key_of(number) for number in numbers}) == len(numbers)


def test_a_wheel_end_in_parts_and_one_that_was_typed_are_the_same():
    parts = {"axle": 2, "side": "left", "kind": "drive"}
    for typed in ({"position": "Axle 2 - left".replace(" -", ",")}, {"text": "axle 2 LEFT"}):
        assert names.key_of(header_names.wheel_end_name(typed)) == names.key_of(
            header_names.wheel_end_name(parts)
        )
    assert header_names.wheel_end_name("nonsense") == ""
    assert header_names.vehicle_name({"serial": "1XY"}) == "1XY"
