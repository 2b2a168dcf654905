"""The addresses of the workbench: what they answer, and to whom."""

import json
import time
from pathlib import Path

import pytest
from command_line import dotloupe

from dotloupe.errors import InputError
from dotloupe.workbench.bench import opened_bench
from dotloupe.workbench.folder import OWN

HOME = "http://127.0.0.1:4711"
SAMPLES = Path(__file__).parents[2] / "sample_captures"
SETTINGS, PPI = (json.dumps({"by": by}) for by in ("setting", "ppi"))


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "evil.example:4711"},
        {"Host": "127.0.0.1"},
        {"Host": "127.0.0.1:80"},
        {"Origin": "http://evil.example"},
        {"Origin": "http://127.0.0.1:80"},
        {"Origin": "https://127.0.0.1:4711"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_other_hosts_and_origins_are_refused(client, bench, jpeg, headers):
    """Host names led to this address (DNS rebinding), and pages of other origins."""
    asked = (("GET", "/"), ("GET", "/state"), ("PUT", "/photographs/one.jpg"), ("POST", "/compare"))
    for method, path in asked:
        assert client.request(method, path, headers=headers, content=jpeg()).status_code == 403
    assert list(bench.root.iterdir()) == []


def test_what_changes_anything_must_say_where_it_comes_from(client, jpeg):
    client.headers.pop("Origin")
    assert client.get("/state").status_code == 200
    assert client.put("/photographs/one.jpg", content=jpeg()).status_code == 403
    assert client.put("/photographs/one.jpg", content=jpeg(), headers={"Origin": HOME}).is_success


def test_page_loads_nothing_from_elsewhere(client):
    answer = client.get("/")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "http" not in policy
    for link in ("src=", "href="):
        for found in answer.text.split(link)[1:]:
            assert not found.startswith(('"http', '"//')), found[:60]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert "access-control-allow-origin" not in answer.headers


def test_names_of_folders_are_text(tmp_path):
    from dotloupe.workbench.page import page_text

    text = page_text(tmp_path / "<script>alert(1)</script>", tmp_path / "<b>history")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


def test_photographs_are_examined_as_they_come(client, jpeg, settled):
    assert client.put("/photographs/fast/one.jpg", content=jpeg()).status_code == 200
    (told,) = settled()["photographs"]
    assert told["key"] == "fast/one.jpg"
    assert told["setting"] == "fast"
    # an even sheet, and no patch
    assert told["verdict"] == "not fit"
    assert told["messages"]
    assert told["run"] is None
    small = client.get("/preview/small/fast/one.jpg")
    assert small.headers["content-type"] == "image/jpeg"
    assert small.content.startswith(b"\xff\xd8\xff")


def test_refusals_say_why(client, jpeg):
    assert client.put("/photographs/page.html", content=jpeg()).status_code == 415
    assert client.put("/photographs/a.jpg", content=b"GIF89a" * 9).status_code == 415
    for path in ("/photographs/..%2f..%2fout.jpg", "/photographs/%2e%2e%2fout.jpg"):
        answer = client.put(path, content=jpeg())
        assert answer.status_code == 400
        assert "rename" in answer.json()["error"]
    assert "no such photograph" in client.get("/preview/small/none.jpg").json()["error"]
    assert client.get("/preview/huge/none.jpg").status_code == 404
    answer = client.post("/assign", content=b'{"keys": "all", "setting": 3}')
    assert answer.status_code == 400
    assert client.post("/assign", content=b"x" * 300_000).status_code == 413


@pytest.mark.parametrize(
    "path", ["../notes.json", "..%2fnotes.json", "%2e%2e/notes.json", "/etc/passwd", "", "a%00b"]
)
def test_report_gives_its_own_files_only(client, bench, path):
    bench.assign([], "x")
    assert (bench.own / "notes.json").is_file()
    bench.report.mkdir()
    (bench.report / "link.txt").symlink_to("/etc/passwd")
    assert client.get(f"/report/{path}").status_code == 404
    assert client.get("/report/link.txt").status_code == 404
    for folder in ("sheets", "history"):
        # sheets are written by that address, and not read
        assert client.get(f"/{folder}/{path}").status_code in (404, 405)
    (bench.report / "index.html").write_text("here")
    assert client.get("/report/").text == "here"


def test_settings_are_kept_for_the_next_time(client, bench, jpeg):
    client.put("/photographs/one.jpg", content=jpeg())
    wild = '<b>"fast"</b> / ../x مرحبا'
    asked = {"keys": ["one.jpg"], "setting": f"  {wild} "}
    state = client.post("/assign", content=json.dumps(asked)).json()
    assert [p["setting"] for p in state["photographs"]] == [wild]
    again = opened_bench(bench.root, bench.history)
    assert again.setting_of(again.one("one.jpg")) == wild
    again.examiner.close()
    unknown = {"keys": ["two.jpg"], "setting": "fast"}
    assert client.post("/assign", content=json.dumps(unknown)).status_code == 400
    # the setting is in the notes alone: no folder is named after it
    assert {p.name for p in bench.root.iterdir()} == {"one.jpg", OWN}


def test_notes_that_cannot_be_understood_are_named(bench):
    bench.assign([], "x")
    (bench.own / "notes.json").write_text('{"settings": 3}')
    with pytest.raises(InputError, match=r"notes\.json: cannot be understood; delete it"):
        opened_bench(bench.root, bench.history)


def test_own_folder_that_leads_out_is_refused(bench, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    bench.own.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="leads out"):
        opened_bench(bench.root, bench.history)


def test_a_ladder_climbs_within_one_setting(client, settled, bench):
    for ppi in (180, 720):
        photograph = (SAMPLES / "ladder" / f"ppi{ppi}" / "print1.jpg").read_bytes()
        client.put(f"/photographs/fast/{ppi}.jpg", content=photograph)
    settled()
    assert client.post("/compare", content=PPI).json()["comparison"]["state"] == "running"
    told = settled()
    assert told["comparison"]["state"] == "done", told["comparison"]["message"]
    result = json.loads((bench.report / "data" / "result.json").read_text("utf-8"))
    assert [point["sent_ppi"] for point in result["points"]] == [180, 720]
    assert "ppi" in " ".join(told["comparison"]["verdict"])

    another = (SAMPLES / "ladder" / "ppi720" / "print2.jpg").read_bytes()
    client.put("/photographs/fine/720.jpg", content=another)
    settled()
    refused = client.post("/compare", content=PPI)
    assert refused.status_code == 400
    assert "720 ppi were sent in fast and in fine" in refused.json()["error"]


def test_settings_of_an_own_picture_say_its_ppi(client, settled, jpeg):
    for number, setting in enumerate(("ppi300", "600 ppi", "fine")):
        client.put(f"/photographs/{setting}/one.jpg", content=jpeg(number))
    assert {p["sent_ppi"] for p in settled()["photographs"]} == {None}
    assert client.put("/picture/sent.jpg", content=jpeg(9)).is_success
    told = {p["setting"]: p["sent_ppi"] for p in settled()["photographs"]}
    assert told == {"ppi300": 300, "600 ppi": 600, "fine": None}


def test_left_out_photographs_take_no_part(client, bench, jpeg):
    for number, setting in enumerate(("fast", "fine")):
        client.put(f"/photographs/{setting}/one.jpg", content=jpeg(number))
    asked = json.dumps({"keys": ["fine/one.jpg"], "out": True})
    state = client.post("/leave_out", content=asked).json()
    assert [p["left_out"] for p in state["photographs"]] == [False, True]
    assert [one.key for one in bench.taking_part()] == ["fast/one.jpg"]
    assert client.post("/compare", content=SETTINGS).status_code == 400
    again = opened_bench(bench.root, bench.history)
    assert [one.key for one in again.taking_part()] == ["fast/one.jpg"]
    again.examiner.close()
    back = client.post("/leave_out", content=asked.replace("true", "false")).json()
    assert not any(p["left_out"] for p in back["photographs"])
    assert (bench.root / "fine" / "one.jpg").read_bytes() == jpeg(1)


def test_only_untouched_copies_are_deleted(client, bench, jpeg):
    """A person's own file, and a copy that a person changed, stay whatever is asked."""
    (bench.root / "own.jpg").write_bytes(jpeg(1))
    for number, name in ((2, "copy.jpg"), (3, "changed.jpg")):
        assert client.put(f"/photographs/{name}", content=jpeg(number)).is_success
    (bench.root / "changed.jpg").write_bytes(jpeg(4))
    names = ["own.jpg", "copy.jpg", "changed.jpg"]
    assert client.delete("/photographs/copy.jpg").status_code == 400
    client.post("/leave_out", content=json.dumps({"keys": names, "out": True}))
    copies = {p["key"]: p["copy"] for p in client.get("/state").json()["photographs"]}
    assert copies == {"own.jpg": False, "copy.jpg": True, "changed.jpg": False}
    assert [client.delete(f"/photographs/{name}").status_code for name in names] == [400, 200, 400]
    for path in ("..%2fsecret.jpg", f"{OWN}/notes.json"):
        assert client.delete(f"/photographs/{path}").status_code == 400
    assert {p.name for p in bench.root.iterdir()} == {"own.jpg", "changed.jpg", OWN}
    # another photograph of that name is a new one
    state = client.put("/photographs/copy.jpg", content=jpeg(5)).json()
    assert not next(p for p in state["photographs"] if p["key"] == "copy.jpg")["left_out"]


def test_deleting_asks_for_the_own_page(client, jpeg):
    client.put("/photographs/one.jpg", content=jpeg())
    for headers in ({"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}):
        assert client.delete("/photographs/one.jpg", headers=headers).status_code == 403


def test_prints_of_one_name_from_two_folders_count_as_two(client, bench, settled):
    """The same name in two folders, put to one setting: two prints, not two photographs of one."""
    names = {}
    for setting in ("fast", "fine"):
        photograph = (SAMPLES / "quality" / setting / "print1.jpg").read_bytes()
        client.put(f"/photographs/{setting}/print1.jpg", content=photograph)
        names[f"{setting}/print1.jpg"] = "mixed"
    client.put(
        "/photographs/other/print1.jpg",
        content=(SAMPLES / "quality" / "fine" / "print2.jpg").read_bytes(),
    )
    client.post("/assign", content=json.dumps({"keys": list(names), "setting": "mixed"}))
    settled()
    client.post("/compare", content=SETTINGS)
    told = settled()
    assert told["comparison"]["state"] == "done", told["comparison"]["message"]
    result = json.loads((bench.report / "data" / "result.json").read_text("utf-8"))
    places = {p["setting"]: p["n"] for p in result["criteria"]["detail_x"]["places"]}
    assert places == {"mixed": 2, "other": 1}


@pytest.mark.parametrize(("kind", "paper"), [("detail", ""), ("tints", ""), ("contrast", "A4")])
def test_sheets_are_those_of_the_command(client, tmp_path, kind, paper):
    asked = {"kind": kind, "ppi": 300, "run": 8, "prints": 2, "paper": paper}
    asked |= {"label": "fast"}
    state = client.post("/sheets", content=json.dumps(asked)).json()
    end = f"300ppi_{kind}{'_on_210x297mm' if paper else ''}"
    assert state["sheets"] == [f"run8_{end}.tif", f"run9_{end}.tif"]
    if paper:
        runs = (f'[[runs]]\nrun = {run}\nppi = 300\ncaptures = ["{run}.jpg"]\n' for run in (8, 9))
        plan = tmp_path / "plan.toml"
        plan.write_text(
            'printer = "desk"\npaper = "lustre"\nmode = "fast"\n'
            f"sheet = {{width_mm = 210, height_mm = 297}}\n{''.join(runs)}"
        )
        words = ("sheet", plan, "--kind", kind, "--out", tmp_path / "sheets")
        file = tmp_path / "sheets" / "run9_300ppi.tif"
    else:
        file = tmp_path / "run9.tif"
        words = ("sheet", "--ppi", "300", "--run", "9", "--kind", kind, "--label", "fast")
        words += ("--out", file)
    assert dotloupe(*map(str, words)).returncode == 0
    (by_page,) = (name for name in state["sheets"] if name.startswith("run9"))
    assert client.get(f"/sheets/{by_page}").content == file.read_bytes()
    # a patch is no photograph of one
    assert state["photographs"] == []


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"ppi": 100}, "150 to 1500"),
        ({"run": 249}, "0 to 249"),
        ({"prints": 0}, "prints"),
        ({"prints": 1000}, "prints"),
        ({"paper": "B9"}, "a4"),
        ({"paper": "../x"}, "a4"),
        ({"paper": "10x15cm", "prints": 12}, "larger sheet"),
        ({"kind": "picture"}, "kind"),
    ],
)
def test_sheets_that_cannot_be_are_refused(client, bench, wrong, words):
    asked = {"kind": "detail", "ppi": 300, "run": 8, "prints": 2, "paper": ""}
    asked |= {"label": "", **wrong}
    answer = client.post("/sheets", content=json.dumps(asked))
    assert answer.status_code == 400
    assert words in answer.json()["error"]
    assert not list(bench.root.rglob("*.tif"))


def test_history_holds_what_the_command_would_add(client, bench, settled):
    """The samples of two days; the command reads the same file and says the same of the head."""
    for setting in ("before", "after"):
        for number in (1, 2):
            photograph = SAMPLES / "alignment" / setting / f"print{number}.jpg"
            place = f"/photographs/{setting}/{number}.jpg"
            assert client.put(place, content=photograph.read_bytes()).is_success
    settled()
    made = {"printer": "desk", "paper": "lustre", "mode": "fast"}
    for setting, day in (("after", "2026-03-01"), ("before", "2026-04-01"), ("", "2026-04-01")):
        asked = {"setting": setting, "made": made, "printed_on": day}
        state = client.post("/track", content=json.dumps(asked)).json()
        assert state["tracking"]["state"] == "running"
        state = settled()
        assert state["tracking"]["state"] == "done", state["tracking"]["message"]
    assert state["history"] == made
    assert state["history_report"]
    shown = dotloupe("track", "show", "--history", str(bench.history), "--json", "-")
    by_command = json.loads(shown.stdout)
    by_page = json.loads((bench.history_report / "data" / "result.json").read_text("utf-8"))
    assert by_page["numbers"] == by_command["numbers"]
    assert by_page["due"] == by_command["due"]
    days = {number["latest_on"] for number in by_command["numbers"].values()}
    assert days == {"2026-04-01"}
    page = client.get("/history/").text
    assert "desk" in page
    assert str(bench.root) not in page


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"made": {"printer": " ", "paper": "x", "mode": "y"}}, "printer"),
        ({"setting": "none"}, "none"),
        ({"made": {"printer": "x"}}, "paper"),
    ],
)
def test_prints_that_cannot_be_added_are_refused(client, bench, wrong, words):
    made = {"printer": "desk", "paper": "lustre", "mode": "fast"}
    asked = {"setting": "", "made": made, "printed_on": "2026-03-01"} | wrong
    answer = client.post("/track", content=json.dumps(asked))
    assert answer.status_code == 400
    assert words in answer.json()["error"]
    assert not bench.history.exists()


def test_an_empty_history_says_so(client, settled):
    made = {"printer": "desk", "paper": "lustre", "mode": "fast"}
    asked = {"setting": "", "made": made, "printed_on": "2026-03-01"}
    client.post("/track", content=json.dumps(asked))
    told = settled()["tracking"]
    assert told["state"] == "failed"
    assert told["message"]


def test_one_setting_is_no_comparison(client, jpeg):
    client.put("/photographs/fast/one.jpg", content=jpeg())
    answer = client.post("/compare", content=SETTINGS)
    assert answer.status_code == 400
    assert "two settings" in answer.json()["error"]


def test_comparison_without_a_fit_photograph_says_so(client, jpeg, settled):
    for number, setting in enumerate(("fast", "fine")):
        client.put(f"/photographs/{setting}/one.jpg", content=jpeg(number))
    settled()
    assert client.post("/compare", content=SETTINGS).json()["comparison"]["state"] == "running"
    told = settled()
    assert told["comparison"]["state"] == "failed"
    assert "fit" in told["comparison"]["message"]
    assert not told["report"]


def test_the_command_starts_without_the_server():
    """Heavy imports stay out of the command's start-up."""
    import subprocess
    import sys

    code = (
        "import dotloupe.cli, sys; print([m for m in ('starlette', 'uvicorn') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_state_answers_while_photographs_are_examined(client, jpeg):
    for number in range(3):
        client.put(f"/photographs/{number}.jpg", content=jpeg(number))
    started = time.monotonic()
    assert len(client.get("/state").json()["photographs"]) == 3
    # generous for a busy machine; examining takes longer than an answer
    assert time.monotonic() - started < 5
