"""The disk is full: row 22."""

from __future__ import annotations

import io
import os
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from PIL import Image

from tests.faults.answering import Answer, with_a_telephone
from tests.faults.form import PACE, sized
from tests.faults.test_servers import ALARM, healthy

pytestmark = pytest.mark.faults

MEGABYTES = 48


@contextmanager
def small_disk(folder: Path) -> Iterator[Path]:
    """A disk of its own at `folder`. Needs the right to mount one."""
    folder.mkdir(parents=True, exist_ok=True)
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={MEGABYTES}m", "none", str(folder)],  # noqa: S607 - the system's own
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if made.returncode:
        pytest.skip(f"no small disk can be mounted here: {made.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)  # noqa: S607 - as above


def fill(folder: Path) -> Path:
    """Write until nothing more fits."""
    ballast = folder / "ballast"
    with suppress(OSError), ballast.open("wb", buffering=0) as file:
        while True:
            file.write(bytes(4096))
    return ballast


@pytest.fixture
def disk(tmp_path):
    with small_disk(tmp_path) as folder:
        yield folder


def test_on_a_full_disk_no_answer_is_thanked_for_and_lost_and_the_watcher_hears_of_it(stand, tell, disk):
    rig = stand()
    telephone = with_a_telephone(rig)
    rig.serve()
    rig.until(telephone.answers, "the owner's page")
    rig.until(lambda: healthy(rig), "a word that all is well")
    ballast, begun = fill(disk), time.monotonic()
    sent = {answer: telephone.post(answer) for answer in (Answer(("bright",)) for _ in range(sized(30, 100)))}
    rig.until(lambda: not healthy(rig), "the alarm", patience=ALARM / PACE + 20)
    alarm = time.monotonic() - begun
    ballast.unlink()
    thanked = {answer for answer, said in sent.items() if said.is_a_receipt}
    again = [telephone.post(answer) for answer in sent if answer not in thanked]

    there = {row[0] for row in rig.ask("SELECT client_id FROM followup_reply")}
    missing = {answer.session for answer in thanked} - there
    refused = len(sent) - len(thanked)
    tell("22", "the disk is full", "sqlite", None,
         f"{refused} of {len(sent)} answers refused, {len(missing)} thanked for and missing, "
         f"alarm within {alarm * PACE:.0f} s")  # fmt: skip
    assert not missing
    assert refused > 0, "it was full"
    assert all("tel:" in said.page for said in sent.values() if not said.is_a_receipt)
    assert all(said.is_a_receipt for said in again)
    assert {answer.session for answer in sent} <= there
    rig.until(lambda: healthy(rig), "a word that all is well again")


def test_where_no_photo_fits_any_more_the_photo_fails_alone(stand, tell, tmp_path, tmp_path_factory):
    rig = stand()
    with small_disk(tmp_path / "photos") as photos:
        telephone = with_a_telephone(rig)
        rig.serve()
        rig.until(telephone.answers, "the owner's page")
        answer = Answer(("quiet",))
        assert telephone.post(answer).is_a_receipt
        fill(photos)

        said = telephone.send_photo(answer, a_photo())
        after = telephone.post(Answer(("quiet",), question="appetite", session=answer.session))

        tell("22b", "no photo fits on the disk", "sqlite", None, f"the photo is answered {said.status}, words go on")
        assert not said.is_a_receipt
        assert "tel:" in said.page
        assert rig.count("followup_photo") == 0
        assert after.is_a_receipt or after.status == 422
        assert rig.count("followup_reply") == 1
        rig.end()


def a_photo() -> bytes:
    """Noise, which no JPEG makes small."""
    file = io.BytesIO()
    Image.frombytes("RGB", (1200, 900), os.urandom(1200 * 900 * 3)).save(file, "JPEG", quality=90)
    return file.getvalue()
