"""What the parts are to ngspice: our own parameters, set from limits of public data sheets.

Sources, from memory: BC547 series: base-emitter voltage 0.58 to 0.70 V at 2 mA and 25 °C, gain of
class A from 110, of class C 420 to 800 at 2 mA, collector leakage up to 15 nA at 25 °C,
capacitances about 9 and 4 pF, transition frequency about 300 MHz. BZX55C6V8: leakage up to 0.1 µA
at 3 V and 25 °C; 200 pF is a pessimist's guess. Storage time of a saturated small transistor: TR
100 ns is a guess; it makes the turn-off slower than typical curves show. BAT85: at most 0.32 V at
1 mA and 0.4 V at 10 mA.
"""

import math
from dataclasses import dataclass

_THERMAL_V = 0.025693  # k·T/q at 25 °C
_TEST_A = 2e-3


@dataclass(frozen=True, slots=True)
class Transistor:
    """One end of the spread.

    Attributes:
        gain: At 2 mA and 25 °C.
        base_v: Base-emitter voltage at 2 mA and 25 °C.
    """

    gain: float
    base_v: float


LOW = Transistor(420, 0.70)
HIGH = Transistor(800, 0.58)


def transistor_model(name: str, spread: Transistor) -> str:
    """Return the .model line of an NPN."""
    saturation_a = _TEST_A / math.exp(spread.base_v / _THERMAL_V)
    return (
        f".model {name} NPN(IS={saturation_a:.4g} BF={spread.gain:g} VAF=80 IKF=80m "
        # the gain falls to about half at some µA
        f"ISE={saturation_a * 0.6:.4g} NE=1.5 BR=4 RB=50 RC=1 RE=0.3 "
        "CJE=9p VJE=0.7 MJE=0.35 CJC=5p VJC=0.6 MJC=0.4 TF=0.5n TR=100n XTB=1.5 EG=1.11 XTI=3)"
    )


DIODE_MODELS = """.model ZENER D(IS=1e-14 N=1.05 RS=5 BV=6.8 IBV=5m CJO=200p VJ=0.7 M=0.4)
.model SIGNAL D(IS=2.5n N=1.75 RS=0.6 CJO=4p TT=6n BV=100)
.model SCHOTTKY D(IS=8n N=1.05 RS=6 CJO=10p BV=30 EG=0.69 XTI=2)"""


def leakage_a(temp_c: float) -> float:
    """Return the collector's leakage: 15 nA at 25 °C, doubled every 10 °C."""
    return 15e-9 * 2 ** ((temp_c - 25) / 10)
