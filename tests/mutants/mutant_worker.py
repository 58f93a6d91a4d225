"""The process that runs tests against mutants; started by ``python -m tests.mutants`` on a copy of the package.

``reach`` runs a room's tests once and notes which test reaches which line. ``warm`` imports and collects everything
once, then forks for each mutant: the child exchanges the code of the living functions, wherever they were imported to,
and runs the tests that reach the line until one fails. ``cold`` forks before the package is imported, for changes that
act at import. The changed file also stands in the copy, so that commands started by a test see it too.
"""

from __future__ import annotations

import ast
import builtins
import contextlib
import functools
import gc
import importlib.abc
import importlib.machinery
import json
import os
import resource
import select
import signal
import sys
import time
import types
from collections.abc import Collection
from pathlib import Path

import pytest

#: Seconds of processor time that a mutant may take beyond a multiple of what the sound package takes.
SPARE, MULTIPLE = 8.0, 4.0
#: Memory that a mutant may ask for, in bytes: a product become a power must not stop the machine.
MEMORY = 6 * 2**30


def _calm() -> None:
    """Property tests draw the same examples each time, shrink nothing and keep nothing."""
    from hypothesis import HealthCheck, Phase, settings

    settings.register_profile(
        "mutants",
        derandomize=True,
        database=None,
        deadline=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck),
    )
    settings.load_profile("mutants")


def _caches(beginning: tuple[str, ...]) -> list:
    found = []
    for one in gc.get_objects():
        if isinstance(one, functools._lru_cache_wrapper):
            file = getattr(getattr(one, "__wrapped__", None), "__code__", None)
            if file is not None and file.co_filename.startswith(beginning):
                found.append(one)
    return found


def _arguments(files: list[str], temp: str) -> list[str]:
    return ["-p", "no:cacheprovider", "-p", "no:benchmark", "-p", "no:xdist", "-o", "addopts=",
            "-o", "tmp_path_retention_policy=none", "--import-mode=importlib", "--capture=sys", "-q",
            "-m", "not browser and not slow", f"--basetemp={temp}", *files]  # fmt: skip


def _name(item) -> str:
    return item.nodeid


# -- which test reaches which line -------------------------------------------------------------------------------------


class _Marked(importlib.machinery.SourceFileLoader):
    """Loads a file of the room with a mark before each statement and in each lambda, at hardly any cost."""

    marks: set[tuple[str, int]] = set()

    def source_to_code(self, data, path, *, _optimization=-1):
        tree = ast.parse(data)
        for node in list(ast.walk(tree)):
            for field in ("body", "orelse", "finalbody"):
                statements = getattr(node, field, None)
                if isinstance(statements, list) and statements and isinstance(statements[0], ast.stmt):
                    setattr(node, field, [new for one in statements for new in self.marked(one, one is statements[0])])
            if isinstance(node, ast.Lambda):
                both = ast.Tuple([self.mark(node.body), node.body], ast.Load())
                node.body = ast.Subscript(both, ast.Constant(1), ast.Load())
        return compile(ast.fix_missing_locations(tree), path, "exec", dont_inherit=True, optimize=_optimization)

    def mark(self, node: ast.AST) -> ast.Call:
        call = ast.Call(ast.Name("__reached__", ast.Load()), [ast.Constant((self.path, node.lineno))], [])
        return ast.copy_location(call, node)

    def marked(self, one: ast.stmt, first: bool) -> list[ast.stmt]:
        said = first and isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant)
        if said or (isinstance(one, ast.ImportFrom) and one.module == "__future__"):
            return [one]
        return [ast.copy_location(ast.Expr(self.mark(one)), one), one]

    def get_code(self, fullname):
        """Never from what was compiled before."""
        return self.source_to_code(self.get_data(self.path), self.path)


class _Finder(importlib.abc.MetaPathFinder):
    """Takes the room's files to the loader that marks; all others go their way."""

    def __init__(self, paths: set[str]) -> None:
        self.paths = paths

    def find_spec(self, name, path, target=None):
        found = importlib.machinery.PathFinder.find_spec(name, path, target)
        if found is not None and found.origin in self.paths:
            found.loader = _Marked(name, found.origin)
        return found if found is not None and found.origin in self.paths else None


class _Reach:
    """Notes with every phase of a test which marks it came by, and collects what a selection needs."""

    def __init__(self, package: str, tests: str, slow: float) -> None:
        self.slow = slow
        self.by_context: dict[str, set[tuple[str, int]]] = {}
        self.context = ""
        self.beginning = (package,)
        self.tests = (tests,)
        self.seconds: dict[str, float] = {}
        self.failed: list[str] = []
        self.shared: dict[str, list[str]] = {}
        self.cached: set[str] = set()
        self.caches: list = []
        self.helpers: list = []
        self.file = ""
        self.started = 0.0
        signal.signal(signal.SIGPROF, self.stop)

    def stop(self, *_) -> None:
        """End a slow test as failed; it is left out then."""
        raise TimeoutError(f"more than {self.slow:.0f} s")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_protocol(self, item, nextitem) -> None:
        file = item.nodeid.partition("::")[0]
        if file != self.file:
            self.noted()
            self.file, self.caches, self.helpers = file, _caches(self.beginning), _caches(self.tests)
            for one in self.helpers:
                one.cache_clear()
        for one in self.caches:
            one.cache_clear()
        wide = [
            f"{name}@{found[-1].baseid}"
            for name, found in item._fixtureinfo.name2fixturedefs.items()
            if found[-1].scope != "function" and found[-1].baseid
        ]
        if wide:
            self.shared[_name(item)] = wide
        self.started = time.process_time() + sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])

    def noted(self) -> None:
        if any(one.cache_info().hits for one in self.helpers):
            self.cached.add(self.file)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_setup(self, item) -> None:
        self.switch(f"{_name(item)}|setup")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_call(self, item) -> None:
        self.switch(f"{_name(item)}|call")
        signal.setitimer(signal.ITIMER_PROF, self.slow)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_teardown(self, item) -> None:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        self.switch(f"{_name(item)}|setup")

    def switch(self, context: str) -> None:
        """What is marked until now belongs to the context before."""
        self.by_context.setdefault(self.context, set()).update(_Marked.marks)
        _Marked.marks.clear()
        self.context = context

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed and report.nodeid not in self.failed:
            self.failed.append(report.nodeid)

    def pytest_runtest_logfinish(self, nodeid, location) -> None:
        now = time.process_time() + sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])
        self.seconds[nodeid] = now - self.started


def _sound(code: int, ran: Collection[str]) -> None:
    """Stop where tests could not be collected: nothing would be asked, and every mutant would seem to survive."""
    if int(code) not in (0, 1) or not ran:
        raise SystemExit(f"the tests of the room could not be run on the sound package: pytest left with {int(code)}")


def reach(asked: dict) -> dict:
    """Tests by line of every file of the room; ``import`` among them where a line runs before any test."""
    package, temp = asked["package"], asked["temp"]
    plugin = _Reach(package, asked["tests_folder"], asked["slow"])
    builtins.__reached__ = _Marked.marks.add
    sys.meta_path.insert(0, _Finder({str(Path(package) / one) for one in asked["modules"]}))
    _calm()
    _sound(pytest.main(_arguments(asked["files"], temp), plugins=[plugin]), plugin.seconds)
    plugin.switch("")
    plugin.noted()
    contexts_of: dict[tuple[str, int], set[str]] = {}
    for context, marks in plugin.by_context.items():
        for mark in marks:
            contexts_of.setdefault(mark, set()).add(context)
    together: dict[str, set[str]] = {}
    for name, fixtures in plugin.shared.items():
        for fixture in fixtures:
            together.setdefault(fixture, set()).add(name)
    by_file: dict[str, set[str]] = {}
    for name in plugin.seconds:
        by_file.setdefault(name.partition("::")[0], set()).add(name)
    names = sorted(plugin.seconds)
    index = {name: k for k, name in enumerate(names)}

    @functools.cache
    def who(context: str) -> tuple[frozenset[str], frozenset[str]]:
        """Who runs a line itself, and who may use what another test's run of it left behind."""
        name, _, phase = context.rpartition("|")
        if not name:
            return frozenset({"import"}), frozenset()
        kept = {one for fixture in plugin.shared.get(name, ()) for one in together[fixture]}
        file = name.partition("::")[0]
        cached = by_file[file] if file in plugin.cached else set()
        itself = {name} | (kept if phase == "setup" else set())
        return frozenset(itself), frozenset(kept | cached)

    lines: dict[str, dict[int, list]] = {}
    for (path, line), contexts in contexts_of.items():
        found = [who(context) for context in contexts]
        itself = set().union(*(one for one, _ in found))
        after = set().union(*(two for _, two in found)) - itself
        lines.setdefault(str(Path(path).relative_to(package)), {})[line] = [
            sorted(index[name] for name in itself if name in index),
            sorted(index[name] for name in after if name in index),
            "import" in itself,
        ]
    return {"names": names, "seconds": plugin.seconds, "failed": plugin.failed, "lines": lines}


# -- one mutant in a child of its own ----------------------------------------------------------------------------------


class _UntilOneFails:
    """Stops at the first failure and remembers it."""

    def __init__(self) -> None:
        self.killer = ""

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed and not self.killer:
            self.killer = report.nodeid

    def pytest_collectreport(self, report) -> None:
        if report.failed and not self.killer:
            self.killer = f"collection of {report.nodeid}"


def _in_child(work, limit: float) -> str:
    """What ``work()`` answers in a child: the test that failed, ``""`` for none, ``time-out`` beyond the limit."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.setsid()
            os.close(reading)
            nowhere = os.open(os.devnull, os.O_RDWR)
            for number in (0, 1, 2):
                os.dup2(nowhere, number)
            resource.setrlimit(resource.RLIMIT_CPU, (int(limit) + 1, int(limit) + 3))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            try:
                answer = work()
            except BaseException as error:
                answer = f"stopped by {type(error).__name__}"
            os.write(writing, f"={answer}".encode())
            code = 0
        finally:
            os._exit(code)
    os.close(writing)
    answer = b""
    until = time.monotonic() + 10 * limit + 60
    while True:
        ready, _, _ = select.select([reading], [], [], max(0.0, until - time.monotonic()))
        piece = os.read(reading, 65536) if ready else b""
        answer += piece
        if not piece:
            break
    os.close(reading)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return answer.decode()[1:] if answer.startswith(b"=") else "time-out or crash"


class _Copy:
    """The file as changed, in the copy of the package, for as long as the mutant runs."""

    moments = 0

    def __init__(self, path: Path, changed: bytes) -> None:
        self.path, self.changed = path, changed

    def __enter__(self) -> None:
        self.kept, self.stat = self.path.read_bytes(), self.path.stat()
        self.path.write_bytes(self.changed)
        _Copy.moments += 2
        os.utime(self.path, (self.stat.st_atime, self.stat.st_mtime + 1000 + _Copy.moments))

    def __exit__(self, *_) -> None:
        self.path.write_bytes(self.kept)
        os.utime(self.path, ns=(self.stat.st_atime_ns, self.stat.st_mtime_ns))


def _codes(code: types.CodeType, found: dict) -> dict:
    for const in code.co_consts:
        if isinstance(const, types.CodeType):
            found.setdefault((const.co_qualname, const.co_firstlineno), []).append(const)
            _codes(const, found)
    return found


def exchange(path: str, changed: bytes) -> int:
    """Give every living function of the file its new code; returns how many differ. Raises ValueError where a name that
    a closure holds is needed or spared by the change, so that the new code does not fit."""
    new = _codes(compile(changed, path, "exec", dont_inherit=True), {})
    count = 0
    for one in gc.get_objects():
        if isinstance(one, types.FunctionType) and one.__code__.co_filename == path:
            fitting = new.get((one.__code__.co_qualname, one.__code__.co_firstlineno), ())
            if len(fitting) == 1 and fitting[0] != one.__code__:
                one.__code__ = fitting[0]
                count += 1
    return count


class _Warm:
    """Takes the place of the loop over tests: forks for each mutant."""

    def __init__(self, asked: dict, tell) -> None:
        self.asked, self.tell = asked, tell
        self.ran: set[str] = set()

    def pytest_runtestloop(self, session) -> bool:
        if session.testsfailed:
            return False
        by_name = {_name(item): item for item in session.items}
        self.ran.update(by_name)
        stopper = _UntilOneFails()
        session.config.pluginmanager.register(stopper)
        for mutant in self.asked["mutants"]:
            path = Path(self.asked["package"]) / mutant["module"]
            source = path.read_bytes()
            changed = source[: mutant["start"]] + mutant["text"].encode() + source[mutant["end"] :]
            items = [by_name[name] for name in mutant["tests"] if name in by_name]

            def work(items=items, path=path, changed=changed) -> str:
                try:
                    if exchange(str(path), changed) == 0:
                        return "!not exchanged"
                except ValueError:
                    return "!not exchanged"
                for item, after in zip(items, [*items[1:], None], strict=True):
                    item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
                    if stopper.killer:
                        break
                return stopper.killer

            with _Copy(path, changed):
                self.tell(mutant["key"], _in_child(work, mutant["limit"]))
        return True


def warm(asked: dict, tell) -> None:
    """Every mutant in a fork of a process that has imported and collected all."""
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    _calm()
    asking = _Warm(asked, tell)
    code = pytest.main(_arguments(asked["files"], asked["temp"]), plugins=[asking])
    _sound(0 if code == 5 else code, asking.ran)


class _First:
    """Puts the tests that are likeliest to fail first, and leaves out those that fail without any change."""

    def __init__(self, order: list[str]) -> None:
        self.place = {name: k for k, name in enumerate(order)}

    def pytest_collection_modifyitems(self, items) -> None:
        items[:] = sorted((one for one in items if _name(one) in self.place), key=lambda one: self.place[_name(one)])


def cold(asked: dict, tell) -> None:
    """Every mutant in a fork of a process that has imported what is not ours, so that ours is imported as changed."""
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    sys.dont_write_bytecode = True
    import importlib

    for name in asked["libraries"]:
        try:
            importlib.import_module(name)
        except ImportError:
            continue
    _calm()
    for mutant in asked["mutants"]:
        path = Path(asked["package"]) / mutant["module"]
        source = path.read_bytes()
        changed = source[: mutant["start"]] + mutant["text"].encode() + source[mutant["end"] :]

        def work(mutant=mutant) -> str:
            stopper = _UntilOneFails()
            files = list(dict.fromkeys(name.partition("::")[0] for name in mutant["tests"]))
            code = pytest.main([*_arguments(files, asked["temp"]), "-x"], plugins=[stopper, _First(mutant["tests"])])
            return stopper.killer or ("" if code in (0, 5) else f"pytest left with {int(code)}")

        with _Copy(path, changed):
            self_answer = _in_child(work, mutant["limit"])
        tell(mutant["key"], self_answer)


def main() -> None:
    """``mutant_worker WAY ASKED.json ANSWER``: the answer is JSON (reach) or a JSON line for each mutant."""
    way, asked_file, answer = sys.argv[1:]
    asked = json.loads(Path(asked_file).read_text(encoding="utf-8"))
    if way == "reach":
        Path(answer).write_text(json.dumps(reach(asked)), encoding="utf-8")
        return
    with open(answer, "a", encoding="utf-8") as file:

        def tell(key: str, by: str) -> None:
            file.write(json.dumps([key, by]) + "\n")
            file.flush()

        {"warm": warm, "cold": cold}[way](asked, tell)


if __name__ == "__main__":
    main()
