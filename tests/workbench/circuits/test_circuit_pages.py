"""Pages of a set's chart and of circuits: what is asked, shown, kept and refused."""

from __future__ import annotations

import html
import io
import json
import re
import threading

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from setwright.files import FileProblems
from setwright.workbench.circuits.models import CircuitRecord, PrintedChart
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.records.models import Revision
from setwright.workbench.services import circuits as service
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.imports import Incoming, import_contents
from setwright.workbench.services.records import set_file_of
from setwright.workbench.services.runs import Runs
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

VOLTS = "/sets/bench-1/volts/"
SOCKET = f"{VOLTS}socket/V6/"
CIRCUIT = "/families/heron-6/circuits/heron-output/"


def words(response) -> str:
    text = html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))
    return re.sub(r"\s+", " ", text.replace("\N{NO-BREAK SPACE}", " "))


def expected(record: CircuitRecord, point: str, **asked) -> float:
    from setwright.circuits import parse_meter

    meter = asked.pop("meter", "20k/V")
    case = service.chart_of(record, None, service.Asked(parse_meter(meter), **asked))
    return next(p.value for p in case.expectation.points if p.point == point)


def test_the_files_came_in_as_records_with_a_history(drawn: Client) -> None:
    record = CircuitRecord.objects.get()
    assert (record.key, record.family.key, record.tube_count, record.part_count) == ("heron-output", "heron-6", 2, 10)
    assert PrintedChart.objects.get().count == 4
    assert "Taken in from heron-circuit.toml" in words(drawn.get(f"{CIRCUIT}history/"))
    assert "Heron 6, output stage" in words(drawn.get("/families/heron-6/"))


def test_the_chart_says_what_to_expect_with_the_meter_and_line_asked_for(drawn: Client) -> None:
    record = CircuitRecord.objects.get()
    page = words(drawn.get(VOLTS))
    assert "on a line of 117 V, with a meter of 20 kΩ per volt" in page
    # 262 V through 20 ohms and two halves of a megohm divider, loaded by 5 megohms on the 250 V range
    assert expected(record, "divider") == pytest.approx(131.0 * 5.0 / 5.5, rel=0.01)
    # the same with 250 kilohms across it
    assert expected(record, "divider", meter="1k/V") == pytest.approx(131.0 * 0.25 / 0.75, rel=0.01)
    shown = words(drawn.get(f"{VOLTS}?meter=1k/V"))
    assert f"divider expected {expected(record, 'divider', meter='1k/V'):.1f} V" in shown
    low = words(drawn.get(f"{VOLTS}?line=60&meter=10M"))
    assert "Computed for a line of 60 V" in low
    assert "10 MΩ input" in low


def test_every_live_page_carries_the_cautions(drawn: Client) -> None:
    for address in (VOLTS, SOCKET, f"{SOCKET}pin/1/", f"{SOCKET}pin/2/"):
        page = words(drawn.get(address))
        assert "work with one hand" in page
        assert "Switch off, unplug and discharge" in page
        assert "Kilovolts: do not probe" in page
        assert "Local electrical codes" in page
    cold = words(drawn.get(f"{VOLTS}?off=1"))
    assert "Unplug the set, do not merely switch it off" in cold


def test_kilovolts_are_shown_and_never_asked_for(drawn: Client) -> None:
    assert "leave it alone" in words(drawn.get(VOLTS))
    page = words(drawn.get(f"{VOLTS}socket/V7/"))
    assert "Kilovolts: leave it alone." in page
    stops = [drawn.get(f"{VOLTS}socket/V7/pin/{n}/") for n in range(1, 6)]
    told = [words(stop) for stop in stops if stop.status_code == 200]
    assert told
    assert all("plate" not in re.search(r"reading \d of \d (.*?) (Before|One hand)", one)[1] for one in told)
    assert all("is left out: kilovolts" in one for one in told)


def test_a_part_goes_by_the_sets_own_state(drawn: Client) -> None:
    from setwright.files import editing
    from setwright.workbench.services.records import family_of

    record = SetRecord.objects.get()
    family = family_of(record.family)
    table = {"feature": "tone-capacitor", "state": "absent"}
    keeping.edit(record, lambda file: editing.add_observation(file, family, table), by=None, what="seen")
    assert "C1 is left out: tone-capacitor is absent (seen)." in words(drawn.get(VOLTS))


def test_readings_are_entered_by_walking_round_a_socket(drawn: Client) -> None:
    record = CircuitRecord.objects.get()
    first = words(drawn.get(f"{SOCKET}pin/1/"))
    assert "Pin 2 and pin 7: heater" in first
    answer = drawn.post(f"{SOCKET}pin/1/", {"value": "6.2"})
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{SOCKET}pin/2/?told=1"
    second = words(drawn.get(answer.headers["Location"]))
    assert "Kept: pin 2 and pin 7: heater, 6.20 V. In band." in second
    assert "Pin 5: grid" in second
    drawn.post(f"{SOCKET}pin/2/", {"value": "0"})
    cathode = expected(record, "V6.cathode")
    answer = drawn.post(f"{SOCKET}pin/3/", {"value": f"{1.5 * cathode:.2f}"})
    assert "Above by 50 %" in words(drawn.get(answer.headers["Location"]))
    readings = set_file_of(SetRecord.objects.get()).case.readings
    assert [(r.point, r.quantity, r.meter, r.line_volts) for r in readings] == [
        ("H1", "volts_ac", "", 117.0),
        ("V6.grid1", "volts", "20k/V@2.5", 117.0),
        ("V6.cathode", "volts", "20k/V@50", 117.0),
    ]
    assert readings[0].reference == "chassis"
    chart = words(drawn.get(VOLTS))
    assert "2 points measured, 1 out of band." in chart
    assert "above by 50 %" in chart
    assert "New reading: V6.cathode" in words(drawn.get("/sets/bench-1/history/"))
    last = drawn.post(f"{SOCKET}pin/5/", {"value": "250"})
    assert last.headers["Location"].startswith(f"{SOCKET}?told=5")


def test_a_walk_takes_another_range_and_keeps_what_was_asked(drawn: Client) -> None:
    sent = {"value": "−1.5 mV", "with": "1k/V@3", "meter": "1k/V", "line": "110"}
    answer = drawn.post(f"{SOCKET}pin/2/", sent)
    assert answer.headers["Location"] == f"{SOCKET}pin/3/?meter=1k%2FV&line=110&told=2"
    reading = set_file_of(SetRecord.objects.get()).case.readings[0]
    assert (reading.meter, reading.line_volts, reading.si_value) == ("1k/V@3", 110.0, pytest.approx(-0.0015))


def test_a_cold_walk_asks_ohms(drawn: Client) -> None:
    page = words(drawn.get(f"{SOCKET}pin/1/?off=1"))
    assert "Ohms read" in page
    drawn.post(f"{SOCKET}pin/1/", {"value": "470k", "off": "1"})
    reading = set_file_of(SetRecord.objects.get()).case.readings[0]
    assert (reading.quantity, reading.condition, reading.si_value, reading.line_volts) == ("ohms", "off", 470e3, None)


@pytest.mark.parametrize("value", ["", "plenty", "12 henries", "nan", "9" * 80])
def test_a_reading_that_is_none_is_refused_with_the_reason(drawn: Client, value: str) -> None:
    answer = drawn.post(f"{SOCKET}pin/3/", {"value": value})
    assert answer.status_code == 422
    assert 'class="mistake"' in answer.content.decode()
    assert set_file_of(SetRecord.objects.get()).case.readings == ()


@pytest.mark.parametrize(
    "query",
    ["meter=loud", "own=20k/V@", "line=high", "line=-5", "line=nan", "line=1e9", "meter=%00", "own=" + "9" * 500],
)
def test_an_odd_question_is_answered_with_what_is_wrong(drawn: Client, query: str) -> None:
    answer = drawn.get(f"{VOLTS}?{query}")
    assert answer.status_code == 400
    assert "Shown for" in words(answer)
    data = drawn.get(f"/sets/bench-1/expect.json?{query}")
    assert data.status_code == 400
    assert json.loads(data.content)["error"]


@pytest.mark.parametrize(
    "address",
    [
        f"{VOLTS}?circuit=other",
        f"{VOLTS}socket/V99/",
        f"{SOCKET}pin/0/",
        f"{SOCKET}pin/99/",
        f"{SOCKET}picture.gif",
        "/families/heron-6/circuits/other/",
        "/families/other/circuits/heron-output/",
        "/sets/nobody/volts/",
    ],
)
def test_what_is_not_there_is_not_found(drawn: Client, address: str) -> None:
    assert drawn.get(address).status_code == 404


def test_a_family_without_circuit_says_so(shelf: None, client: Client) -> None:
    assert "no circuit yet" in words(client.get(VOLTS))
    assert client.get("/sets/bench-1/expect.json").status_code == 404
    assert client.get(SOCKET).status_code == 404
    assert "What to measure" not in words(client.get("/sets/bench-1/"))


def test_the_sets_page_leads_to_its_voltages(drawn: Client, monkeypatch) -> None:
    monkeypatch.setattr(service, "_cases", Runs(ByContent(size=4), at_once=1))
    page = drawn.get("/sets/bench-1/")
    assert "What to measure at each pin of its 2 tubes" in words(page)
    drawn.get(VOLTS)
    assert "Nothing was measured for this chart yet." in words(drawn.get("/sets/bench-1/"))


def test_the_answer_as_data_has_points_and_readings(drawn: Client) -> None:
    drawn.post(f"{SOCKET}pin/3/", {"value": "12"})
    data = json.loads(drawn.get("/sets/bench-1/expect.json").content)
    assert data["format"] == "setwright-expect/1"
    assert {"B+", "divider", "V6.cathode", "HV"} <= {point["point"] for point in data["points"]}
    assert data["readings"][0]["point"] == "V6.cathode"
    alone = json.loads(drawn.get(f"{CIRCUIT}expect.json?off=1").content)
    assert alone["condition"] == "off"


def test_a_socket_can_be_saved_as_a_picture(drawn: Client) -> None:
    answer = drawn.get(f"{SOCKET}picture.svg")
    assert answer.headers["Content-Type"].startswith("image/svg+xml")
    assert "seen from below" in answer.content.decode()
    assert drawn.get(f"{SOCKET}picture.png").content.startswith(b"\x89PNG")


def test_the_printed_chart_says_where_it_disagrees_and_why(drawn: Client) -> None:
    for address in (f"{CIRCUIT}printed/", f"{VOLTS}printed/"):
        page = words(drawn.get(address))
        assert "4 rows compared, 1 out of band." in page
        assert "Perhaps a misprint: 13 would fit." in page


def test_a_drawing_is_edited_as_text_with_problems_at_their_line(drawn: Client, circuit_text: str) -> None:
    record = CircuitRecord.objects.get()
    broken = circuit_text.replace('value = "240"', 'value = "-240"')
    answer = drawn.post(f"{CIRCUIT}edit/", {"text": broken, "seen": record.revision})
    assert answer.status_code == 422
    line = next(n for n, text in enumerate(broken.splitlines(), 1) if '"-240"' in text)
    assert f"line {line}" in words(answer)
    assert "is negative" in words(answer)
    assert '"-240"' in html.unescape(answer.content.decode())
    assert CircuitRecord.objects.get().revision == record.revision
    better = circuit_text.replace('value = "240"', 'value = "270"')
    assert drawn.post(f"{CIRCUIT}edit/", {"text": better, "seen": record.revision}).status_code == 302
    assert CircuitRecord.objects.get().text == better
    late = drawn.post(f"{CIRCUIT}edit/", {"text": circuit_text, "seen": record.revision})
    assert late.status_code == 409


def test_a_circuit_is_added_from_its_file_once(shelf: None, client: Client, circuit_text: str) -> None:
    upload = SimpleUploadedFile("output.toml", circuit_text.encode())
    answer = client.post("/families/heron-6/add-circuit/", {"file": upload})
    assert answer.headers["Location"] == CIRCUIT
    again = client.post("/families/heron-6/add-circuit/", {"text": circuit_text})
    assert again.status_code == 422
    assert "already" in words(again)


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"x = [", b"a\x00b", b'format = "ohm"'])
def test_what_is_no_circuit_is_refused(shelf: None, client: Client, content: bytes) -> None:
    answer = client.post("/families/heron-6/add-circuit/", {"file": SimpleUploadedFile("x.toml", content or b" ")})
    assert answer.status_code == 422
    assert not CircuitRecord.everything.exists()


def test_a_printed_chart_is_taken_in_changed_and_removed(drawn: Client) -> None:
    chart = PrintedChart.objects.get()
    bad = drawn.post(f"{CIRCUIT}printed/edit/", {"text": chart.text.replace("divider", "divder"), "seen": 1})
    assert bad.status_code == 422
    assert "divider" in words(bad)
    good = drawn.post(f"{CIRCUIT}printed/edit/", {"text": chart.text.replace(",130,", ",13,"), "seen": 1})
    assert good.status_code == 302
    assert "4 rows compared, all in band." in words(drawn.get(f"{CIRCUIT}printed/"))
    assert drawn.post(f"{CIRCUIT}printed/remove/", {"seen": 2}).status_code == 302
    assert "No chart" in words(drawn.get(f"{CIRCUIT}printed/"))
    assert "printed chart of Heron 6, output stage" in words(drawn.get("/removed/"))


def test_a_circuit_keeps_the_points_that_its_printed_chart_names(drawn: Client, circuit_text: str) -> None:
    gone = circuit_text.replace('"divider"', '"middle"')
    answer = drawn.post(f"{CIRCUIT}edit/", {"text": gone, "seen": 1})
    assert answer.status_code == 422
    assert "divider" in words(answer)
    assert CircuitRecord.objects.get().text == circuit_text


def test_a_family_keeps_the_features_that_its_circuit_names(drawn: Client, texts: dict[str, str]) -> None:
    record = FamilyRecord.objects.get()
    renamed = record.text.replace("tone-capacitor", "tone-condenser")
    SetRecord.objects.all().delete()
    record.register.delete()
    with pytest.raises(FileProblems, match="tone-capacitor"):
        keeping.keep(FamilyRecord.objects.get(), renamed, by=None, what="renamed")


def test_a_set_that_cannot_be_computed_says_why(drawn: Client, circuit_text: str) -> None:
    """A converter in the output stage leaves an electrode without a node."""
    text = circuit_text.replace('type = "6V6GT"', 'type = "6V6GT"\nfeature = "converter"')
    keeping.keep(CircuitRecord.objects.get(), text, by=None, what="drawn anew")
    answer = drawn.get(VOLTS)
    assert answer.status_code == 409
    assert "cannot be computed with the parts of this set" in words(answer)
    assert "grid3 of V6 is not connected; a 6BE6 works here as a converter" in words(answer)
    assert drawn.get("/sets/bench-1/expect.json").status_code == 409
    assert drawn.get(SOCKET).status_code == 409


def test_a_long_computation_is_watched_and_stopped(drawn: Client, settings, monkeypatch) -> None:
    go, real = threading.Event(), service.expect

    def slow(*values, **options):
        go.wait(60.0)
        return real(*values, **options)

    monkeypatch.setattr(service, "expect", slow)
    monkeypatch.setattr(service, "_cases", Runs(ByContent(size=4), at_once=1))
    settings.PATIENCE_SECONDS = 0.0
    address = f"{VOLTS}?line=93"
    waiting = drawn.get(address)
    assert waiting.status_code == 202
    assert "Stop computing" in words(waiting)
    assert drawn.post(f"{VOLTS}stop/", {"line": "93"}).headers["Location"] == address
    assert "was stopped" in words(drawn.get(address))
    go.set()
    drawn.post(f"{VOLTS}start/", {"line": "93"})
    settings.PATIENCE_SECONDS = 120.0
    assert "on a line of 93 V" in words(drawn.get(address))


def test_a_chart_file_needs_its_circuit(shelf: None) -> None:
    with pytest.raises(FileProblems, match="which circuit"):
        import_contents([Incoming("other.chart.csv", b"point,quantity,value,unit\nB+,volts,1,V\n")])
    with pytest.raises(FileProblems, match="not there yet"):
        import_contents([Incoming("a.toml", b'format = "setwright-circuit/1"\nid = "a"\nfamily = "gone"\n')])


def test_expectations_are_computed_once(drawn: Client, monkeypatch) -> None:
    asked: list[object] = []
    real = service.expect

    def counting(*values, **options):
        asked.append(options)
        return real(*values, **options)

    monkeypatch.setattr(service, "expect", counting)
    drawn.get(f"{VOLTS}?line=101")
    drawn.get(f"{VOLTS}?line=101")
    drawn.post(f"{SOCKET}pin/3/", {"value": "12", "line": "101"})
    drawn.get(f"{VOLTS}?line=101")
    assert len(asked) == 1


def test_a_reader_looks_and_does_not_measure(drawn: Client, settings) -> None:
    from setwright.workbench.accounts import managing
    from setwright.workbench.accounts.models import Role

    settings.SHARED = True
    reader = managing.add_account("reader", "a long enough word", Role.READER)
    client = Client()
    client.force_login(reader)
    assert client.get(VOLTS).status_code == 200
    assert "Walk round it" not in words(client.get(SOCKET))
    assert client.get(f"{SOCKET}pin/1/").status_code == 403
    assert client.post(f"{CIRCUIT}edit/", {"text": ""}).status_code == 403


def test_a_casebook_carries_circuits_and_charts_with_their_history(drawn: Client, circuit_text: str) -> None:
    from setwright.files.casebook import open_casebook
    from setwright.workbench.casebook.saving import save_casebook
    from setwright.workbench.casebook.taking import take_casebook

    better = circuit_text.replace('value = "240"', 'value = "270"')
    keeping.keep(CircuitRecord.objects.get(), better, by=None, what="R1 is 270 ohms")
    stream = io.BytesIO()
    save_casebook(stream)
    SetRecord.objects.all().delete()
    FamilyRecord.objects.get().delete()
    Revision.objects.all().delete()
    with open_casebook(stream.getvalue()) as book:
        taken = take_casebook(book, by=None)
        assert {("circuit", "heron-output"), ("chart", "heron-output")} <= set(taken.new)
    assert CircuitRecord.objects.get().text == better
    assert PrintedChart.objects.get().circuit.key == "heron-output"
    assert "R1 is 270 ohms" in words(drawn.get(f"{CIRCUIT}history/"))
    with open_casebook(stream.getvalue()) as book:
        assert take_casebook(book, by=None).new == ()


def test_a_circuit_names_its_family(shelf: None, client: Client, circuit_text: str) -> None:
    text = circuit_text.replace('family = "heron-6"\n', "").replace(', feature = "tone-capacitor"', "")
    answer = client.post("/families/heron-6/add-circuit/", {"text": text})
    assert answer.status_code == 422
    assert 'write family = "heron-6" at the top' in words(answer)


def test_a_part_is_decided_by_a_feature_with_its_name(drawn: Client) -> None:
    page = words(drawn.get(CIRCUIT))
    assert "decided by Tone control capacitor" in page
    assert "tone-capacitor" not in page
