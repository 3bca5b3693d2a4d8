"""Small faults put into a program on purpose, one at a time: its mutants.

A good test suite notices each. What is changed: comparisons, arithmetic, and/or, not, signs,
numbers, keys and codes, what is returned, and statements that are left out. Not changed: texts for
people (anything with a blank in it), docstrings, annotations and decorators.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass

_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
_ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.FloorDiv,
    ast.Pow: ast.Mult,
    ast.MatMult: ast.Mult,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.BitXor: ast.BitAnd,
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where one change is made.

    Attributes:
        node: Number of the node in the order of `ast.walk`.
        way: Which of the changes that are possible there.
        line: Its line in the source.
        function: The function that it is in, with its class; "" outside of all.
        text: That line of the source, without the blanks around it.
        told: What becomes what, for people.
    """

    node: int
    way: int
    line: int
    function: str
    text: str
    told: str


def places(source: str) -> list[Place]:
    """Return every change that can be made to a source, in the order of the source."""
    found = []
    tree = ast.parse(source)
    lines, functions = source.splitlines(), dict(_functions(tree))
    for number, node in _nodes(tree):
        before = ast.unparse(node)
        for way, changed in enumerate(_changes(node)):
            after = ast.unparse(ast.fix_missing_locations(changed))
            told = f"{_short(before)}  →  {_short(after)}"
            line = getattr(node, "lineno", 0)
            text = lines[line - 1].strip() if line else ""
            found.append(Place(number, way, line, functions.get(line, ""), text, told))
    return sorted(found, key=lambda place: (place.line, place.node, place.way))


def _functions(tree: ast.AST, inside: str = "") -> Iterator[tuple[int, str]]:
    """Yield each line that is in a function, with that function's name; the innermost last."""
    for node in ast.iter_child_nodes(tree):
        name = inside
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            name = f"{inside}.{node.name}".strip(".")
            yield from ((line, name) for line in range(node.lineno, (node.end_lineno or 0) + 1))
        yield from _functions(node, name)


def changed_tree(source: str, place: Place) -> ast.Module:
    """Return the program with the change made at one place."""
    tree = ast.parse(source)
    node = dict(_nodes(tree))[place.node]
    new = list(_changes(node))[place.way]

    class Put(ast.NodeTransformer):
        def visit(self, here: ast.AST) -> ast.AST:
            return new if here is node else self.generic_visit(here)

    return ast.fix_missing_locations(Put().visit(tree))


def _nodes(tree: ast.Module) -> Iterator[tuple[int, ast.AST]]:
    """Yield the nodes that may be changed, with their numbers."""
    left_alone = _left_alone(tree)
    for number, node in enumerate(ast.walk(tree)):
        if id(node) not in left_alone:
            yield number, node


def _left_alone(tree: ast.Module) -> set[int]:
    spared: list[ast.AST] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.AnnAssign | ast.arg):
            spared += [node.annotation] if node.annotation else []
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            spared += node.decorator_list
            spared += [node.returns] if isinstance(node, ast.FunctionDef) and node.returns else []
        elif isinstance(node, ast.JoinedStr):
            spared += [value for value in node.values if isinstance(value, ast.Constant)]
            spared += [v.format_spec for v in node.values if _has_format(v)]
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            spared += [node, node.value]
    return {id(part) for root in spared for part in ast.walk(root)}


def _has_format(value: ast.AST) -> bool:
    return isinstance(value, ast.FormattedValue) and value.format_spec is not None


def _changes(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what a node may become."""
    if isinstance(node, ast.Compare):
        yield from _compared(node)
    elif isinstance(node, ast.BinOp) and type(node.op) in _ARITHMETIC:
        yield ast.BinOp(node.left, _ARITHMETIC[type(node.op)](), node.right)
    elif isinstance(node, ast.AugAssign):
        yield ast.AugAssign(node.target, _ARITHMETIC[type(node.op)](), node.value)
        yield ast.Pass()
    elif isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.op, ast.UAdd):
        yield node.operand
    elif isinstance(node, ast.Constant):
        yield from _constants(node.value)
    else:
        yield from _statements(node)


def _compared(node: ast.Compare) -> Iterator[ast.AST]:
    for at, op in enumerate(node.ops):
        for other in _COMPARISONS[type(op)]:
            yield ast.Compare(
                node.left, [*node.ops[:at], other(), *node.ops[at + 1 :]], node.comparators
            )


def _constants(value: object) -> Iterator[ast.AST]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield from (ast.Constant(value + 1), ast.Constant(value - 1))
    elif isinstance(value, float):
        yield ast.Constant(value * 2 if value else 1.0)
    elif isinstance(value, str) and " " not in value:
        yield ast.Constant("XX" + value)
    elif isinstance(value, bytes) and b" " not in value:
        yield ast.Constant(b"XX" + value)


def _statements(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        yield ast.Return(ast.Constant(None))
    elif isinstance(node, ast.Expr | ast.Raise) or (
        isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Attribute | ast.Subscript)
    ):
        yield ast.Pass()
    elif isinstance(node, ast.If | ast.IfExp | ast.While) and isinstance(
        node.test, ast.Name | ast.Attribute | ast.Call
    ):
        opposite = ast.UnaryOp(ast.Not(), node.test)
        fields = {name: getattr(node, name) for name in node._fields}
        yield type(node)(**{**fields, "test": opposite})
    elif isinstance(node, ast.Break):
        yield ast.Continue()
    elif isinstance(node, ast.Continue):
        yield ast.Break()


def _is_none(value: ast.AST) -> bool:
    return isinstance(value, ast.Constant) and value.value is None


def _short(text: str) -> str:
    first, *rest = text.splitlines()
    return first[:90] + (" …" if rest or len(first) > 90 else "")
