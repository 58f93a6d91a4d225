"""``import samesky``: what it offers, lazily, beside rooms of other names; every example in ``help()`` runs."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import subprocess
import sys

import pytest

import samesky
from samesky.campaign.messages.errors import CampaignError
from samesky.inference.looks import planned_look
from samesky.simulator.examples.catalogue import write_example

FUNCTIONS = sorted(name for name in samesky.__all__ if inspect.isroutine(getattr(samesky, name)))


def every_module() -> list[str]:
    """Names of all modules of the package but those that run."""
    found = pkgutil.walk_packages(samesky.__path__, "samesky.")
    return [one.name for one in found if not one.name.endswith("__main__")]


@pytest.fixture(scope="module")
def _all_imported():
    for name in every_module():
        importlib.import_module(name)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_example("willing_hands", tmp_path_factory.mktemp("public") / "willing_hands")


def test_the_names():
    assert FUNCTIONS == ["check", "compare", "plan", "read", "reduce", "rehearse", "write_example", "write_report"]
    assert set(samesky.__all__) <= set(dir(samesky))
    with pytest.raises(AttributeError, match="no attribute 'reed'"):
        _ = samesky.reed


@pytest.mark.usefixtures("_all_imported")
@pytest.mark.parametrize("name", samesky.__all__)
def test_no_public_name_is_that_of_a_room(name):
    """An imported room becomes an attribute of the package, and would take the place of a function of its name."""
    assert f"samesky.{name}" not in sys.modules
    assert not inspect.ismodule(getattr(samesky, name))


@pytest.mark.usefixtures("_all_imported")
@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_is_called_as_its_help_says_after_every_room_was_imported(name):
    function = getattr(samesky, name)
    assert f"samesky.{name}(" in function.__doc__
    for section in ("Parameters\n", "Returns\n", "Raises\n", "Examples\n"):
        assert section in function.__doc__
    ran = 0
    for one in doctest.DocTestFinder(recurse=False).find(function, name, globs={}):
        results = doctest.DocTestRunner().run(one)
        assert results.failed == 0
        ran += results.attempted
    assert ran > 3


def test_importing_the_package_imports_none_of_its_rooms():
    code = "import samesky, sys; print([name for name in sys.modules if name.startswith(('samesky.', 'numpy'))])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_a_folder_and_its_campaign_give_the_same(folder):
    campaign = samesky.read(folder)
    assert [one.to_json() for one in samesky.compare(folder)] == [one.to_json() for one in samesky.compare(campaign)]
    assert samesky.check(folder) == samesky.check(campaign)
    by_folder, by_campaign = samesky.reduce(folder), samesky.reduce(campaign)
    assert list(by_folder) == list(by_campaign) == list(campaign.tables)
    assert all((by_folder[name].value == by_campaign[name].value).all() for name in by_folder)


def test_nothing_is_computed_on_what_has_to_be_mended(tmp_path):
    folder = write_example("willing_hands", tmp_path / "broken")
    file = folder / "timed_climb.csv"
    file.write_text(file.read_text(encoding="utf-8").replace("elapsed [s]", "elapsed [kg]"), encoding="utf-8")
    for given in (folder, str(folder), samesky.read(folder)):
        for function in (samesky.reduce, samesky.compare):
            with pytest.raises(CampaignError, match=r"timed_climb\.csv"):
                function(given)
        with pytest.raises(CampaignError, match=r"timed_climb\.csv"):
            samesky.write_report(given, tmp_path / "page.html")
    assert not (tmp_path / "page.html").exists()
    with pytest.raises(CampaignError, match="timed_climb"):
        samesky.plan(folder)


def test_a_look_is_named_by_its_number(tmp_path):
    folder = write_example("finer_pitch", tmp_path / "looks")
    toml = folder / "campaign.toml"
    toml.write_text(toml.read_text(encoding="utf-8") + "\n[plan]\nlooks = 2\n", encoding="utf-8")
    campaign = samesky.read(folder)
    first = samesky.compare(campaign, 1)[0]
    assert first.look == planned_look(campaign, 1)
    assert samesky.compare(campaign, 2)[0].level < first.level
