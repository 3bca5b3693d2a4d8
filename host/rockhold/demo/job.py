"""The job that the demo plays: an invented trailer wheel end, set too loose at first."""

from rockhold.record.header import Job

PROCEDURE = "single-nut-trailer"
END_PLAYS_IN = (0.009, 0.003)  # before and after the nut is turned
PERSON = "demo technician"
ANSWERS = """\
safe-to-work: yes
linings: yes
seal: yes
speed-sensor: yes
hand-tight: yes
seat: pull
loosen: yes
settle: pull
final-back-off: yes
lock: yes
indicator: free
indicator: set
end-play: measure
# It is too loose. The nut is turned as the tool works out, and what lies behind it done again.
end-play: mend
adjust: done
lock: yes
indicator: yes
end-play: measure
spin: yes
spin: yes
spin: yes
gasket: yes
cap-screws: pull
oil: yes
vent: yes
end: finish
"""


def demo_job(procedure_name: str, procedure_text: str) -> Job:
    """Return what is known of the demo's job before its first reading."""
    return Job(
        technician=PERSON,
        procedure_name=procedure_name,
        procedure_text=procedure_text,
        vehicle={"number": "demo 7", "note": "invented"},
        wheel_end={
            "axle": "2",
            "side": "left",
            "kind": "trailer",
            "threads_per_inch": 12,
        },
        tools=(
            {"kind": "indicator", "name": "simulated 24-bit gauge"},
            {"kind": "torque tool", "id": "demo wrench", "name": "simulated torque adapter"},
        ),
        mount="hub",  # so that the board's motion sensor turns with the wheel
        work={"nature": "bearing adjustment"},
    )
