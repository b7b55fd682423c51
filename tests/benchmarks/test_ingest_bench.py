"""The ingest benchmark measures what it says: sound of the length asked for, and the memory of all its processes."""

import subprocess
import sys

import pytest
import soundfile

from benchmarks.ingest import long_recording, memory_kb, timed


def test_the_recording_has_the_length_rate_and_channels_asked_for(tmp_path):
    info = soundfile.info(long_recording(tmp_path, 2.5, 8000, 1))
    assert (info.duration, info.samplerate, info.channels) == (150.0, 8000, 1)
    assert soundfile.info(long_recording(tmp_path, 0.1, 44100, 2)).channels == 2


@pytest.mark.skipif(sys.platform != "linux", reason="memory of processes is read from /proc")
def test_memory_counts_the_processes_below(tmp_path):
    inner = "x = bytearray(80_000_000); import sys; print('ready', flush=True); sys.stdin.read()"
    outer = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {inner!r}])"
    with subprocess.Popen([sys.executable, "-c", outer], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout.readline() == b"ready\n"
        assert memory_kb(process.pid) > 80_000_000 / 1024
        process.stdin.close()
    assert memory_kb(process.pid) == 0


def test_a_row_runs_in_a_process_of_its_own_and_is_timed(tmp_path):
    run = timed("decode", long_recording(tmp_path, 0.5, 8000, 1))
    assert run.work_s > 0
    assert run.elapsed_s > 0
