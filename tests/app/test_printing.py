"""A page to the paper through the system's own print server, and what staff hear where none comes."""

import os
import time
from pathlib import Path
from tempfile import gettempdir

import pytest

from kiosk.app.printing import Printer, PrintJob, default_printer, save_page
from kiosk.base.errors import Refused
from norms import Refusal
from tests.app.print_server import PrintServer
from tests.needed_packages import needs

PDF = b"%PDF-1.4 " + bytes(range(256)) * 800  # more than a pipe holds

server_here = needs("cups", "cups-client")


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("cups")
    for place in (folder, *folder.parents):  # the print server's own user must come through
        if place.is_relative_to(gettempdir()) and place != Path(gettempdir()):
            os.chmod(place, 0o755)
    with PrintServer(folder) as running:
        yield running


@pytest.fixture
def sent_there(server, monkeypatch):
    for name, value in server.environment.items():
        monkeypatch.setenv(name, value)
    return server


def followed(job: PrintJob, longest_s: float = 20.0) -> float:
    """Ticks until it has ended; the seconds it took."""
    began = time.monotonic()
    while job.outcome is None and time.monotonic() - began < longest_s:
        job.tick(time.monotonic())
        time.sleep(0.005)
    return time.monotonic() - began


@server_here
def test_the_default_printer_is_called_what_people_call_it(sent_there):
    assert default_printer() == Printer("desk", "Room 4")


@server_here
def test_a_page_reaches_the_printer_byte_for_byte_and_nothing_stays_in_the_spool(sent_there):
    before = len(sent_there.printed)
    job = PrintJob(PDF, "7F-KD", Printer("desk", "Room 4"), time.monotonic())
    followed(job)
    assert job.outcome == "printed"
    assert bytes(sent_there.printed[before:]) == PDF
    assert sent_there.spooled() == []


@server_here
def test_a_printer_that_never_answers_is_given_up_and_nothing_waits_in_it(sent_there):
    job = PrintJob(PDF, "7F-KD", Printer("deaf", "Room 9"), time.monotonic(), longest_s=1.0)
    assert followed(job) < 6.0
    assert job.outcome == Refusal("printer_did_not_answer")
    assert sent_there.run("lpstat", "-W", "not-completed", "-o").strip() == ""
    assert sent_there.spooled() == []


@server_here
def test_staff_may_take_it_back(sent_there):
    job = PrintJob(PDF, "7F-KD", Printer("deaf", "Room 9"), time.monotonic())
    for _ in range(40):
        job.tick(time.monotonic())
        time.sleep(0.01)
    job.cancel(time.monotonic())
    followed(job)
    assert job.outcome == Refusal("print_cancelled")
    assert sent_there.spooled() == []


def test_a_server_that_does_not_answer_at_all_is_given_up_too(tmp_path, monkeypatch):
    """lp that never reads, cancel that never ends: small programs in the place of the real ones."""
    _program(tmp_path, "lp", "sleep 60")
    _program(tmp_path, "cancel", "exit 0")
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    job = PrintJob(PDF, "7F-KD", Printer("desk", "Room 4"), time.monotonic(), longest_s=0.3)
    assert followed(job) < 6.0
    assert job.outcome == Refusal("printer_did_not_answer")


def test_a_job_that_cannot_be_taken_back_is_told_by_its_number(tmp_path, monkeypatch):
    _program(tmp_path, "lp", "cat > /dev/null; echo 'request id is desk-12 (1 file(s))'")
    _program(tmp_path, "lpstat", "echo 'desk-12 kiosk 1024 now'")
    _program(tmp_path, "cancel", "exit 1")
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    job = PrintJob(PDF, "7F-KD", Printer("desk", "Room 4"), time.monotonic(), longest_s=0.5)
    followed(job)
    assert job.outcome == Refusal("job_not_cancelled", {"job": "desk-12"})


def test_a_machine_without_the_programs_has_no_printer(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(Refused, match="no_printer"):
        default_printer()
    assert PrintJob(PDF, "7F-KD", Printer("desk", "x"), 0.0).outcome == Refusal("no_printer")


def test_a_page_is_saved_under_its_tag_and_never_over_another(tmp_path):
    assert save_page(tmp_path, "7F-KD", PDF).name == "7F-KD.pdf"
    assert save_page(tmp_path, "7F-KD", PDF).name == "7F-KD.pdf"
    assert save_page(tmp_path, "7F-KD", b"%PDF other").name == "7F-KD-2.pdf"
    assert (tmp_path / "7F-KD.pdf").read_bytes() == PDF
    (tmp_path / "a file").write_text("")
    with pytest.raises(Refused, match="cannot_write"):
        save_page(tmp_path / "a file", "7F-KD", PDF)


def _program(folder: Path, name: str, body: str) -> None:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{body}\n")
    path.chmod(0o755)
