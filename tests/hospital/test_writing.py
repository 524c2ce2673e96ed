"""One writer at a time, and what is written half-way is not written."""

from __future__ import annotations

import threading
import time
from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from vestry.hospital import writing as module
from vestry.hospital.writing import writing


def test_writers_of_one_process_pass_one_after_the_other(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(module.transaction, "atomic", nullcontext)
    monkeypatch.setattr(module, "connection", SimpleNamespace(vendor="sqlite"))  # the process's own lock alone
    inside, most = 0, 0

    def write() -> None:
        nonlocal inside, most
        with writing():
            inside += 1
            most = max(most, inside)
            time.sleep(0.01)
            inside -= 1

    writers = [threading.Thread(target=write) for _ in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()

    assert most == 1


@pytest.mark.django_db
def test_what_fails_half_way_is_not_written():
    from vestry.hospital.desk.models import Unit

    def fail_half_way() -> None:
        with writing():
            Unit.objects.create(name="Half")
            raise RuntimeError("half-way")

    with pytest.raises(RuntimeError, match="half-way"):
        fail_half_way()

    assert not Unit.objects.exists()
