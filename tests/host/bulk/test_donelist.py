"""The list of what is done."""

import pytest

from rockhold.bulk.donelist import DoneList
from rockhold.errors import UsageError

WHAT = {"done": "verify"}


def test_what_is_done_is_known_again_until_it_changes(tmp_path):
    a, b, where = tmp_path / "a", tmp_path / "b", tmp_path / "list"
    a.write_text("one")
    b.write_text("two")
    with DoneList(where, WHAT) as done:
        assert not done.has(a)
        done.add(a, 3)
        done.add(b, 0)
    with DoneList(where, WHAT) as done:
        assert done.has(a)
        assert done.codes == {3}
        b.write_text("other")
        assert not done.has(b)
        assert done.codes == {3}


def test_a_line_cut_short_costs_that_file_only(tmp_path):
    a, b, where = tmp_path / "a", tmp_path / "b", tmp_path / "list"
    for path in (a, b):
        path.write_text("x")
    with DoneList(where, WHAT) as done:
        done.add(a, 0)
        done.add(b, 0)
    where.write_bytes(where.read_bytes()[:-4])
    with DoneList(where, WHAT) as done:
        assert (done.has(a), done.has(b)) == (True, False)
        done.add(b, 0)
    with DoneList(where, WHAT) as done:
        assert (done.has(a), done.has(b)) == (True, True)


@pytest.mark.parametrize("content", [b'{"done": "measure"}\n', b"no line", b"\xff\xfe\n"])
def test_another_list_is_refused_and_left_as_it_is(tmp_path, content):
    where = tmp_path / "list"
    where.write_bytes(content)
    with pytest.raises(UsageError):
        DoneList(where, WHAT)
    assert where.read_bytes() == content
