"""``samesky new DIR --ask``: eight questions, the folder, the plan and its cards; nothing where it stops on the way."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from samesky.campaign.reading.read import read
from samesky.cli.app import app


@pytest.fixture
def asked(tmp_path):
    import samesky.cli  # noqa: F401 - the verbs register themselves

    def run(typed: str, *more: str, folder="mine"):
        return CliRunner().invoke(app, ["new", str(tmp_path / folder), "--ask", *more], input=typed)

    return run


def test_enter_all_the_way_ends_with_a_plan_and_cards(asked, tmp_path):
    answer = asked("\n" * 40)
    assert answer.exit_code == 0, answer.output
    folder = tmp_path / "mine"
    assert {path.name for path in folder.iterdir()} == {
        "README.txt", "campaign.toml", "cards.html", "takeoff_roll.csv", "timed_climb.csv"
    }  # fmt: skip
    assert "Day 1: " in answer.output
    assert read(folder).plan.swaps == 2


def test_a_wrong_answer_is_said_and_asked_again(asked, tmp_path):
    answer = asked("Mine\n2\nas it was\nfiner\n9\n1\n1,4\n" + "\n" * 40)
    assert answer.exit_code == 0
    assert answer.output.count("found '9', expected one or more of the choices 1 to 4") == 1
    campaign = read(tmp_path / "mine")
    assert (campaign.title, list(campaign.asked)) == ("Mine", ["static_pull", "timed_climb"])


def test_stopped_on_the_way_nothing_is_written(asked, tmp_path):
    assert asked("Mine\n1\n").exit_code == 1
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_there_is_refused_before_anything_is_asked(asked, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "note.txt").write_text("mine", encoding="utf-8")
    answer = asked("\n" * 40)
    assert answer.exit_code != 0
    assert "Eight questions" not in answer.output
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["note.txt"]


def test_ask_goes_alone(asked):
    assert asked("", "--xlsx").exit_code == 2
