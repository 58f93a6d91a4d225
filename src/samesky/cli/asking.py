"""How does the terminal ask the eight questions of a new campaign?"""

from __future__ import annotations

import typer

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.start.questions import Field, Question, questions, read_answers
from samesky.cli.saying import line


def ask() -> dict[str, str]:
    """The answers to all questions; each is asked again until it can be read. The end of the input stops it all."""
    typer.echo("Eight questions. Enter takes what stands in brackets; everything can be changed later.")
    answers: dict[str, str] = {}
    for number in range(len(questions(answers))):
        answers |= _one(questions(answers)[number], number + 1)
    return answers


def _one(question: Question, number: int) -> dict[str, str]:
    typer.echo(f"\n{number}. {question.title}")
    typer.echo(f"   {question.why}")
    found: dict[str, str] = {}
    for field in question.fields:
        alone = Question(question.name, question.title, question.why, (field,))
        while True:
            try:
                found |= read_answers(alone, {field.name: _typed(field)})
                break
            except CampaignError as error:
                line("error", error.finding.sentence(), "red")
    return found


def _typed(field: Field) -> str:
    keys = [key for key, _ in field.options]
    for count, (_, words) in enumerate(field.options, start=1):
        typer.echo(f"     {count}  {words}")
    several = " (numbers, commas between)" * (field.kind == "several")
    ready = ", ".join(str(keys.index(key) + 1) for key in field.ready.split(",")) if keys else field.ready
    later = "" if ready or field.needed else " (or Enter: later)"
    return str(typer.prompt(f"   {field.label}{several}{later}", default=ready, show_default=bool(ready)))
