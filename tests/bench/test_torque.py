"""On the same streams the pull finder is no worse than scipy.signal.find_peaks."""

import numpy as np
import pytest

from bench.torque import ours, peer, study
from rockhold.simulator.wrench import CLICK, DIAL


@pytest.mark.parametrize("kind", [DIAL, CLICK])
@pytest.mark.parametrize("rate_hz", [10, 80, 500])
def test_no_worse_than_a_general_peak_finder(kind, rate_hz):
    total, missed, false, errors = study(ours, kind, rate_hz, 4)
    _, peer_missed, peer_false, peer_errors = study(peer, kind, rate_hz, 4)
    assert missed == false == 0
    assert missed + false <= peer_missed + peer_false
    if rate_hz > 10:
        assert np.sqrt((errors**2).mean()) < np.sqrt((peer_errors**2).mean())
    assert total == 48
