"""Whatever people type, paste, drop or put into an address stays words: nothing of it runs, no template takes it up."""

from __future__ import annotations

import json

import pytest
from parsed_page import Parsed, harmless
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def visitor(tmp_path):
    put_campaign(tmp_path)
    return Visitor(tmp_path)


EVIL = [SCRIPT, '"><img src=x onerror=alert(1)>', "</script><script>alert(1)</script>", "'; alert(1); '", "{{7*7}}",
        "{% for x in ().__class__.__base__.__subclasses__() %}{% endfor %}", "<!--<script>", "]]>", "&lt;script&gt;",
        "javascript:alert(1)", "${7*7}", "%s%n"]  # fmt: skip


@pytest.mark.parametrize("evil", EVIL)
def test_words_of_people_stay_words(tmp_path, evil):
    files = campaign_files()
    text = files["campaign.toml"]
    label = text[text.index("label") :].partition("\n")[0]
    text = text.replace(label, f"label = {json.dumps(evil)}", 1)
    title = text[text.index("title") :].partition("\n")[0]
    files["campaign.toml"] = text.replace(title, f"title = {json.dumps(evil)}", 1)
    put_campaign(tmp_path, files=files)
    visitor = Visitor(tmp_path)
    for column in ("notes", "run", "exclude", "elapsed", "configuration", "date"):
        answer = visitor.cell(0, column, evil)
        assert answer.status_code == 200
        harmless(answer.json()["mend"])
        harmless(answer.json()["verdict"])
    visitor.cell(0, "exclude", "")
    for where in ("/", "/c/climbs/settings", f"/c/climbs/runs/{STEM}", "/c/climbs/verdict", "/c/climbs/throw-away"):
        page = harmless((visitor.post if "throw" in where else visitor.get)(where).text)
        said = " ".join("".join(page.said).split())
        assert evil in said, where
        assert "49" not in said or "{{7*7}}" not in evil
    table = Parsed(visitor.get(f"/c/climbs/runs/{STEM}").text)
    (state,) = [data for attributes, data in table.scripts if attributes.get("type") == "application/json"]
    assert json.loads(state)["rows"][0][-1] == evil


@pytest.mark.parametrize("evil", [SCRIPT, '"><img src=x onerror=alert(1)>', "{{7*7}}"])
def test_words_of_people_stay_words_in_the_report(tmp_path, evil):
    files = campaign_files()
    text = files["campaign.toml"]
    for entry in ("label", "title"):
        line = text[text.index(entry) :].partition("\n")[0]
        text = text.replace(line, f"{entry} = {json.dumps(evil)}", 1)
    files["campaign.toml"] = text
    put_campaign(tmp_path, files=files)
    visitor = Visitor(tmp_path)
    visitor.cell(1, "exclude", evil)
    answer = visitor.get("/c/climbs/report.html")
    assert answer.status_code == 200
    page = Parsed(answer.text)
    assert "script" not in page.tags
    assert not page.handlers
    assert evil in " ".join("".join(page.said).split())


@pytest.mark.parametrize("evil", EVIL)
def test_words_in_an_address_a_header_or_a_file_name_stay_words(visitor, evil):
    harmless(visitor.get(f"/c/climbs/runs/{STEM}", params={"said": evil}).text)
    harmless(visitor.get("/c/climbs/settings", params={"said": evil}).text)
    harmless(visitor.get("/c/climbs/verdict", params={"said": evil}).text)
    for files in ({"files": (evil, b"x")}, {"files": (f"{evil}.zip", b"x")}, {"files": (f"{evil}.xlsx", b"x")}):
        answer = visitor.post("/take-in", files=files)
        assert answer.status_code == 422
        harmless(answer.text)
    table = f'run,date,clock,configuration,"{evil.replace(chr(34), chr(34) * 2)}"\n1,2026-05-09,06:32,A,x\n'
    for name in (f"{evil}.csv", f"{evil}.xlsx"):
        answer = visitor.post(f"/c/climbs/runs/{STEM}/form", data={"do": "take"}, files={"file": (name, table)})
        if answer.status_code == 303:
            # What was not taken is named.
            answer = visitor.get(answer.headers["location"])
            assert evil in " ".join("".join(Parsed(answer.text).said).split())
        harmless(answer.text)
    for fields in ({"do": "add", "header": evil}, {"do": "convert", "column": "4", "unit": evil}, {"do": evil}):
        harmless(visitor.form(**fields).text)
    answer = visitor.post("/c/climbs/settings/group", data={"do": "add", "path": "configuration", "name": evil})
    harmless(answer.text)


@pytest.mark.parametrize("evil", EVIL)
def test_names_of_columns_stay_words(tmp_path, evil):
    files = campaign_files()
    first, _, rest = files[f"{STEM}.csv"].partition("\n")
    header = '"' + evil.replace('"', '""') + '"'
    for place, text in {"a": f"{first},{header}\n", "b": first.replace("elapsed [s]", header) + "\n"}.items():
        put_campaign(tmp_path, place, files=files | {f"{STEM}.csv": text + rest})
        page = harmless(Visitor(tmp_path).get(f"/c/{place}/runs/{STEM}").text)
        assert evil.partition("[")[0].strip() in "".join(page.said)


ODD = ["{", "[]", "null", "1" * 5000, '"x"', "{" * 100_000, '{"row": 1e400}', '{"row": %s}' % ("9" * 5000), "\xff", "",
       '{"row": -1, "column": 0, "text": "x", "seen": []}', '{"row": true, "column": 0, "text": "x", "seen": []}',
       '{"row": 0, "column": 10000, "text": "x", "seen": []}', '{"row": 0, "column": 0, "text": 5, "seen": []}',
       '{"row": 0, "column": 0, "text": "x", "seen": [1]}', '{"row": 0.5, "column": 0, "text": "x", "seen": []}',
       '{"path": 1, "name": 2, "text": 3, "seen": 4}',
       '{"path": "\\ud800", "name": "\\ud800", "text": "x", "seen": ""}',
       '{"path": "a\\u001fb\\u001f", "name": "", "text": "x", "seen": ""}',
       '{"path": "", "name": "\\u0000", "text": "\\u0000", "seen": ""}']  # fmt: skip


@pytest.mark.parametrize("body", ODD, ids=lambda body: body[:40])
def test_what_no_page_sends_is_refused_in_words(visitor, body):
    before = {path.name: path.read_bytes() for path in (visitor.root / "climbs").iterdir() if path.is_file()}
    for where in (f"runs/{STEM}/cell", f"runs/{STEM}/paste", f"runs/{STEM}/delete", "settings/entry"):
        headers = {"accept": "application/json", "content-type": "application/json"}
        answer = visitor.post(f"/c/climbs/{where}", content=body.encode("latin-1"), headers=headers)
        assert answer.status_code in (409, 422), (where, answer.text)
        assert len(answer.json()["problem"]) < 500
    assert {path.name: path.read_bytes() for path in (visitor.root / "climbs").iterdir() if path.is_file()} == before
