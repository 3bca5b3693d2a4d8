"""The mutants themselves, and that every explanation speaks of the code as it is."""

import ast

import pytest
from changes import changed_tree, places
from explained import explained, key_of
from groups import GROUPS

from support import ROOT

SOURCE = '''
class Scale:
    """A docstring is for people."""

    def weigh(self, load: int = 2) -> int:
        if load < 3:
            return load + self.rest
        raise ValueError("too heavy for this scale")
'''


def test_each_change_is_named_by_function_line_and_what_becomes_what():
    told = [(place.function, place.text, place.told) for place in places(SOURCE)]
    weigh = "Scale.weigh"
    assert told == [
        (weigh, "def weigh(self, load: int = 2) -> int:", "2  →  3"),
        (weigh, "def weigh(self, load: int = 2) -> int:", "2  →  1"),
        (weigh, "if load < 3:", "load < 3  →  load <= 3"),
        (weigh, "if load < 3:", "load < 3  →  load >= 3"),
        (weigh, "if load < 3:", "3  →  4"),
        (weigh, "if load < 3:", "3  →  2"),
        (weigh, "return load + self.rest", "return load + self.rest  →  return None"),
        (weigh, "return load + self.rest", "load + self.rest  →  load - self.rest"),
        (
            weigh,
            'raise ValueError("too heavy for this scale")',
            "raise ValueError('too heavy for this scale')  →  pass",
        ),
    ]


def test_each_mutant_differs_from_the_program_and_from_all_others():
    programs = [ast.unparse(changed_tree(SOURCE, place)) for place in places(SOURCE)]
    assert len({ast.unparse(ast.parse(SOURCE)), *programs}) == len(programs) + 1


@pytest.mark.parametrize("source", sorted({key[0] for key in explained()}))
def test_what_is_explained_is_there_to_be_explained(source):
    assert source in {target.source for group in GROUPS.values() for target in group}
    there = {key_of(source, p) for p in places((ROOT / source).read_text(encoding="utf-8"))}
    assert {key for key in explained() if key[0] == source} <= there


def test_every_source_and_test_of_the_groups_is_there():
    for target in (target for group in GROUPS.values() for target in group):
        assert all((ROOT / path).is_file() for path in (target.source, *target.tests)), target
