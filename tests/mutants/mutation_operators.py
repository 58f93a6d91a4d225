"""Which small changes of a line would be a wrong number? Every candidate of a source file, as text put in its place.

Only logic is touched: no strings, docstrings, annotations, decorators, messages of exceptions, nor what merely looks
(sizes, widths, shades of a figure). A change keeps the number of lines, so that every other line stays where it was.
"""

from __future__ import annotations

import ast
import copy
import hashlib
import warnings
from collections.abc import Iterator
from dataclasses import dataclass

#: Keywords whose values are looks or plumbing, never a number that a reader takes away.
_LOOKS = """
alpha lw linewidth linewidths markersize ms fontsize size zorder figsize dpi pad labelpad capsize capthick
elinewidth markeredgewidth mew rotation ha va ncols ncol loc frameon borderpad handlelength columnspacing
bbox_to_anchor xytext width_ratios height_ratios hspace wspace left right top bottom rect color facecolor edgecolor
sharex sharey layout constrained_layout clip_on annotation_clip strict slots frozen eq order kw_only maxsize indent
stacklevel cutoff repr compare init trim_blocks lstrip_blocks autoescape keep_trailing_newline exist_ok parents
newline show_header show_edge pretty_exceptions_enable no_args_is_help add_completion highlight markup soft_wrap
no_wrap expand justify ensure_ascii check_same_thread usedforsecurity capture_output text
"""
LOOKS = frozenset(_LOOKS.split())

_COMPARED = {
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
_CALCULATED = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.MatMult: ast.Mult,
}
_PAIRS = (
    ("min", "max"),
    ("any", "all"),
    ("floor", "ceil"),
    ("minimum", "maximum"),
    ("argmin", "argmax"),
    ("nanmin", "nanmax"),
    ("sin", "cos"),
    ("searchsorted", "digitize"),
    ("mean", "median"),
    ("sqrt", "square"),
    ("startswith", "endswith"),
)
_EXCHANGED = {a: b for pair in _PAIRS for a, b in (pair, pair[::-1])} | {"digitize": "digitize"}
#: Calls that only look, say how far a job has come, or set up plumbing.
_LOOK_CALLS = frozenset(
    {"tick_params", "set_visible", "grid", "set_aspect", "locator_params", "rc_context", "filterwarnings", "update"}
    | {"says", "progress", "setStyle", "Spacer", "_style"}
)
#: Calls whose two arguments may change places.
_EITHER_WAY = frozenset(
    {"min", "max", "minimum", "maximum", "fmin", "fmax", "hypot", "isclose", "gcd", "dot", "figure", "wrap", "fill"}
    | {"isinstance", "issubclass"}
)
_NO_NUMBER = (ast.JoinedStr, ast.List, ast.Tuple, ast.Set, ast.Dict, ast.ListComp)
_FOLDERS = ("folder", "path", "root", "shelf", "data", "here", "directory", "temp", "static", "templates")


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change.

    Attributes
    ----------
    module : path below the package, with slashes
    function : qualified name of the function, ``<module>`` outside any
    change : ``was => is``, with ``#n`` where the same change is possible n times in the function
    line : of the change
    reached_by : first and last line of the statement (of a compound one's head); who runs one runs the change
    at_import : whether the change acts when the module is imported, not when the function is called
    start, end : bytes of the source that ``text`` replaces
    """

    module: str
    function: str
    change: str
    line: int
    reached_by: tuple[int, int]
    at_import: bool
    start: int
    end: int
    text: str

    @property
    def key(self) -> str:
        """What stays the same when lines move."""
        return f"{self.module}::{self.function}: {self.change}"

    def rank(self, seed: int) -> str:
        """Place in the draw; a change elsewhere in the file does not move it."""
        return hashlib.sha256(f"{seed} {self.key}".encode()).hexdigest()

    def applied(self, source: bytes) -> bytes:
        """The file with this change."""
        return source[: self.start] + self.text.encode() + source[self.end :]


class _Finder:
    """Walks one file; keeps the function, the statement and whether all this runs at import."""

    def __init__(self, module: str, source: bytes) -> None:
        self.module = module
        self.source = source
        self.starts = [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.found: list[Mutant] = []
        self.counted: dict[tuple[str, str], int] = {}
        self.function: tuple[str, ...] = ()
        self.called = False
        self.lines = (1, 1)
        self.known: set[str] = set()

    # -- writing one down ---------------------------------------------------------------------------------------------

    def span(self, node: ast.AST) -> tuple[int, int]:
        return (
            self.starts[node.lineno - 1] + node.col_offset,
            self.starts[node.end_lineno - 1] + node.end_col_offset,
        )

    def words(self, node: ast.AST) -> str:
        start, end = self.span(node)
        return " ".join(self.source[start:end].decode().split())

    def add(self, node: ast.expr, changed: ast.expr | None) -> None:
        """``node`` becomes ``changed``."""
        text = "None" if changed is None else ast.unparse(ast.fix_missing_locations(changed))
        self.put(node, f"({text}{chr(10) * (node.end_lineno - node.lineno)})", text)

    def put(self, node: ast.AST, text: str, shown: str) -> None:
        name = ".".join(self.function) or "<module>"
        change = f"{_short(self.words(node))} => {_short(shown)}"
        count = self.counted[name, change] = self.counted.get((name, change), 0) + 1
        start, end = self.span(node)
        self.found.append(
            Mutant(
                self.module,
                name,
                change + (f" #{count}" if count > 1 else ""),
                node.lineno,
                self.lines,
                not self.called,
                start,
                end,
                text,
            )
        )

    def drop(self, node: ast.stmt) -> None:
        self.put(node, "pass" + "\n" * (node.end_lineno - node.lineno), "pass")

    # -- statements ---------------------------------------------------------------------------------------------------

    def statements(self, body: list[ast.stmt]) -> None:
        for node in body:
            self.statement(node)

    def statement(self, node: ast.stmt) -> None:
        kept = self.lines
        self.lines = (node.lineno, node.end_lineno)
        match node:
            case ast.FunctionDef() | ast.AsyncFunctionDef():
                self.defined(node)
            case ast.ClassDef():
                if not any(isinstance(base, ast.Name) and base.id == "Protocol" for base in node.bases):
                    outer, self.function = self.function, (*self.function, node.name)
                    self.statements(node.body)
                    self.function = outer
            case ast.If() | ast.While():
                self.branch(node)
            case ast.For() | ast.AsyncFor():
                self.lines = (node.lineno, node.iter.end_lineno)
                self.known |= {name.id for name in ast.walk(node.target) if isinstance(name, ast.Name)}
                self.expression(node.iter)
                self.statements(node.body)
                self.statements(node.orelse)
            case ast.With() | ast.AsyncWith():
                self.lines = (node.lineno, node.items[-1].context_expr.end_lineno)
                for item in node.items:
                    self.expression(item.context_expr)
                self.statements(node.body)
            case ast.Try():
                self.statements(node.body)
                for handler in node.handlers:
                    self.statements(handler.body)
                self.statements(node.orelse)
                self.statements(node.finalbody)
            case ast.Match():
                self.lines = (node.lineno, node.subject.end_lineno)
                self.expression(node.subject)
                for case in node.cases:
                    if case.guard is not None:
                        self.lines = (case.guard.lineno, case.guard.end_lineno)
                        self.expression(case.guard)
                    self.statements(case.body)
            case ast.Raise():
                self.drop(node)
            case ast.Continue():
                self.put(node, "break", "break")
            case ast.Break():
                self.put(node, "continue", "continue")
            case ast.Expr(value=ast.Constant()):
                pass
            case ast.Expr():
                func = getattr(node.value, "func", None)
                if (
                    isinstance(node.value, ast.Call)
                    and getattr(func, "attr", getattr(func, "id", "")) not in _LOOK_CALLS
                ):
                    self.drop(node)
                self.expression(node.value)
            case ast.AugAssign():
                self.drop(node)
                if type(node.op) in _CALCULATED and not _wordy(node.value):
                    other = copy.deepcopy(node)
                    other.op = _CALCULATED[type(node.op)]()
                    text = ast.unparse(other)
                    self.put(node, text + "\n" * (node.end_lineno - node.lineno), text)
                self.expression(node.value)
            case ast.Assign() | ast.AnnAssign():
                self.assigned(node)
            case ast.Return() if node.value is not None:
                self.expression(node.value)
            case ast.Delete():
                self.drop(node)
        self.lines = kept

    def defined(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        outer = (self.function, self.called, self.known)
        for default in [*node.args.defaults, *(one for one in node.args.kw_defaults if one is not None)]:
            self.lines = (default.lineno, default.end_lineno)
            self.function = (*outer[0], node.name)
            self.expression(default)
        parents = outer[0] if not outer[1] else (*outer[0], "<locals>")
        self.function, self.called = (*parents, node.name), True
        self.known = {arg.arg for arg in ast.walk(node.args) if isinstance(arg, ast.arg)}
        self.statements(node.body)
        self.function, self.called, self.known = outer

    def branch(self, node: ast.If | ast.While) -> None:
        if "TYPE_CHECKING" in ast.unparse(node.test):
            return
        self.lines = (node.test.lineno, node.test.end_lineno)
        self.add(node.test, ast.UnaryOp(ast.Not(), node.test))
        if isinstance(node, ast.If):
            self.add(node.test, ast.Constant(value=False))
            self.add(node.test, ast.Constant(value=True))
        self.expression(node.test)
        self.statements(node.body)
        self.statements(node.orelse)

    def assigned(self, node: ast.Assign | ast.AnnAssign) -> None:
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        names = {name.id for one in targets for name in ast.walk(one) if isinstance(name, ast.Name)}
        if node.value is None or names & {"__all__", "__slots__"}:
            return
        stored = all(isinstance(one, (ast.Attribute, ast.Subscript)) for one in targets)
        again = all(isinstance(one, ast.Name) and one.id in self.known for one in targets)
        if self.called and (stored or again):
            self.drop(node)
        if self.called:
            self.known |= names
        self.expression(node.value)

    # -- expressions --------------------------------------------------------------------------------------------------

    def expression(self, node: ast.AST) -> None:
        match node:
            case ast.JoinedStr():
                return
            case ast.Tuple(elts=[ast.Constant(value=str(command)), *_]) if command.isupper():
                return  # a command of a table's style: how it looks
            case ast.Lambda():
                outer = (self.function, self.called)
                self.function = (*self.function, "<lambda>")
                self.expression(node.body)
                self.function, self.called = outer
                return
            case ast.Compare():
                for k, op in enumerate(node.ops):
                    for other in _COMPARED[type(op)]:
                        changed = copy.deepcopy(node)
                        changed.ops[k] = other()
                        self.add(node, changed)
            case ast.BinOp() if type(node.op) in _CALCULATED and not _odd(node):
                changed = copy.deepcopy(node)
                changed.op = _CALCULATED[type(node.op)]()
                self.add(node, changed)
            case ast.BoolOp():
                changed = copy.deepcopy(node)
                changed.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
                self.add(node, changed)
                for k in range(len(node.values)):
                    left = [copy.deepcopy(value) for i, value in enumerate(node.values) if i != k]
                    self.add(node, left[0] if len(left) == 1 else ast.BoolOp(node.op, left))
            case ast.UnaryOp(op=ast.Not() | ast.USub()):
                self.add(node, node.operand)
            case ast.IfExp():
                plural = any(
                    isinstance(side, ast.Constant) and side.value in ("", "s") for side in (node.body, node.orelse)
                )
                if plural:
                    return
                changed = copy.deepcopy(node)
                changed.body, changed.orelse = changed.orelse, changed.body
                self.add(node, changed)
            case ast.Constant():
                self.constant(node)
                return
            case ast.Call():
                self.call(node)
                return
            case ast.Subscript(slice=ast.Constant(value=str())):
                self.expression(node.value)
                return
            case ast.ListComp() | ast.SetComp() | ast.GeneratorExp() | ast.DictComp():
                for k, loop in enumerate(node.generators):
                    for i in range(len(loop.ifs)):
                        changed = copy.deepcopy(node)
                        del changed.generators[k].ifs[i]
                        self.add(node, changed)
        for child in ast.iter_child_nodes(node):
            if isinstance(child, (ast.expr, ast.comprehension, ast.keyword)):
                self.expression(child)

    def constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, bool):
            self.add(node, ast.Constant(value=not value))
        elif isinstance(value, int):
            self.add(node, ast.Constant(value=value + 1))
            if value > 0:
                self.add(node, ast.Constant(value=value - 1))
        elif isinstance(value, float):
            self.add(node, ast.Constant(value=float(f"{value * 1.1:.12g}") if value else 1.0))

    def call(self, node: ast.Call) -> None:
        name = _called(node)
        if name in _EXCHANGED and _EXCHANGED[name] != name:
            changed = copy.deepcopy(node)
            if isinstance(changed.func, ast.Name):
                changed.func.id = _EXCHANGED[name]
            else:
                changed.func.attr = _EXCHANGED[name]
            self.add(node, changed)
        if (
            name in ("abs", "fabs", "sorted", "reversed", "sqrt", "square", "radians", "degrees")
            and len(node.args) == 1
        ):
            self.add(node, node.args[0])
        if name in _LOOK_CALLS:
            return
        plain = (
            len(node.args) >= 2
            and name not in _EITHER_WAY
            and not any(isinstance(arg, (ast.Starred, ast.Constant)) for arg in node.args[:2])
        )
        if plain and ast.dump(node.args[0]) != ast.dump(node.args[1]) and name not in _EITHER_WAY:
            changed = copy.deepcopy(node)
            changed.args[:2] = changed.args[1::-1]
            self.add(node, changed)
        for k, keyword in enumerate(node.keywords):
            if keyword.arg in ("key", "reverse", "axis", "default"):
                changed = copy.deepcopy(node)
                del changed.keywords[k]
                self.add(node, changed)
        self.expression(node.func)
        for arg in node.args if name not in ("figure", "wrap", "fill") else ():
            self.expression(arg)
        for keyword in node.keywords:
            if keyword.arg not in LOOKS:
                self.expression(keyword.value)


def _called(node: ast.Call) -> str:
    """Name of what is called, without what it belongs to."""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def _short(text: str) -> str:
    return text if len(text) <= 110 else f"{text[:70]} … {text[-38:]}"


def _wordy(node: ast.AST) -> bool:
    return isinstance(node, _NO_NUMBER) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _odd(node: ast.BinOp) -> bool:
    """No arithmetic: texts and lists put together, paths, flags."""
    sides = (node.left, node.right)
    if any(_wordy(side) or (isinstance(side, ast.BinOp) and _odd(side)) for side in sides):
        return True
    names = [getattr(side, "id", getattr(side, "attr", "")).lower() for side in sides]
    if isinstance(node.op, ast.Div) and any(one in name for name in names[:1] for one in _FOLDERS):
        return True
    return isinstance(node.op, ast.BitOr) and any(ast.unparse(side).startswith("re.") for side in sides)


def candidates(module: str, source: bytes) -> list[Mutant]:
    """Every change of a file, in the order of the file."""
    finder = _Finder(module, source)
    finder.statements(ast.parse(source).body)
    return finder.found


def compiles(source: bytes) -> bool:
    """Whether a changed file is Python still."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            compile(source, "mutant", "exec")
    except SyntaxError:
        return False
    return True


def drawn(found: list[Mutant], seed: int) -> Iterator[Mutant]:
    """All candidates in drawn order: first one of every line, then a second of every line, and so on."""
    by_line: dict[tuple[str, int], list[Mutant]] = {}
    for one in sorted(found, key=lambda mutant: mutant.rank(seed)):
        by_line.setdefault((one.module, one.line), []).append(one)
    placed = [(k, one.rank(seed), one) for line in by_line.values() for k, one in enumerate(line)]
    for _, _, one in sorted(placed, key=lambda place: place[:2]):
        yield one
