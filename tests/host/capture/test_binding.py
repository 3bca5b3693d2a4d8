import hashlib
import json

import pytest

from rockhold.capture.binding import nonce_for
from rockhold.capture.lines import to_line
from rockhold.record.header import make_header
from support_evidence import JOB, BenchBoard


def test_the_nonce_of_a_header_follows_from_all_the_rest_of_it():
    header = make_header(JOB, BenchBoard().ident())
    line = to_line(header)
    assert nonce_for(line).hex() == header["nonce"]
    # As the specification says it, without our code.
    blank = line.replace(header["nonce"].encode(), b"0" * 32, 1)
    assert hashlib.sha256(b"rockhold header 1" + blank).hexdigest()[:32] == header["nonce"]


def test_every_byte_of_the_header_matters_but_the_nonces_own():
    header = make_header(JOB, BenchBoard().ident())
    line = to_line(header)
    nonce = nonce_for(line)
    start = line.index(b'"nonce":"') + 9
    for at in range(len(line)):
        changed = line[:at] + bytes((line[at] ^ 2,)) + line[at + 1 :]
        try:
            assert (nonce_for(changed) == nonce) == (start <= at < start + 32), at
        except ValueError:
            assert at < start + 34


def test_two_captures_of_the_same_job_have_nonces_of_their_own():
    ident = BenchBoard().ident()
    assert make_header(JOB, ident)["nonce"] != make_header(JOB, ident)["nonce"]


@pytest.mark.parametrize("line", [b"", b"{}\n", b'{"rockhold":"capture","nonce":"00"}\n'])
def test_what_does_not_begin_as_a_header_has_no_nonce(line):
    with pytest.raises(ValueError, match="does not begin"):
        nonce_for(line)


def test_a_field_called_nonce_elsewhere_does_not_mislead():
    header = make_header(JOB, BenchBoard().ident())
    again = json.loads(to_line(header | {"vehicle": {"nonce": "f" * 32}}))
    assert nonce_for(to_line(again)) != nonce_for(to_line(header))
