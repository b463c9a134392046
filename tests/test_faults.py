"""Full disks, links, kills, interruptions, two runs at once: each document is old or new, whole.

Nothing of a run is left in the folder beside its documents, but for what a kill leaves, which the
next run removes.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import random
import resource
import shutil
import signal
import stat
import subprocess
import sys
import time
import zipfile

import pytest

from pcompare import cli, files

from . import cheap

DOCUMENTS = ("options_memo.pdf", "board_brief.pdf", "calculation_book.xlsx", "results.json")
KILLS = 30
LONGEST = 120  # seconds that a run may take before the test gives up on it


# --- helpers --------------------------------------------------------------------------------------


def earlier(folder):
    """Put documents of an earlier run into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in DOCUMENTS:
        (folder / name).write_bytes(b"earlier " + name.encode())
    return folder


def parts(folder):
    return [path for path in folder.iterdir() if path.name.startswith(files.MARK)]


def state(folder):
    """Tell of each document whether it is of the earlier run or a whole one of the new."""
    found = []
    for name in DOCUMENTS:
        data = (folder / name).read_bytes()
        if data == b"earlier " + name.encode():
            found.append("earlier")
            continue
        if name.endswith(".pdf"):
            assert data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF"), name
        elif name.endswith(".xlsx"):
            with zipfile.ZipFile(folder / name) as archive:
                assert archive.testzip() is None
        else:
            assert json.loads(data)["format"] == "pcompare results 1"
        found.append("new")
    return found


def only_documents(folder):
    return sorted(path.name for path in folder.iterdir()) == sorted(DOCUMENTS)


def command(*arguments):
    return [sys.executable, "-m", "pcompare", *map(str, arguments)]


def started(folder, *more, **options):
    """Start a memo in a process group of its own."""
    return subprocess.Popen(
        command("memo", "--draws", 0, "--out", folder, *more), start_new_session=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options,
    )  # fmt: skip


def finished(arguments, **options):
    return subprocess.run(
        arguments, capture_output=True, text=True, encoding="utf-8", timeout=LONGEST, check=False,
        **options,
    )  # fmt: skip


def wait_for_group(group):
    """Wait until no process of a group is left."""
    for _ in range(LONGEST * 20):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(group, 0)
            time.sleep(0.05)
            continue
        return
    pytest.fail("a process of the run lives on")


def as_nobody_special():
    """Give what starts a command without the rights of root over files that forbid it."""
    if os.geteuid() != 0:
        return []
    taken = "-dac_override,-dac_read_search"
    program = shutil.which("setpriv")
    assert program, "found root and no setpriv; needs it, or another user, to test forbidden files"
    return [program, "--inh-caps", taken, "--bounding-set", taken]


@pytest.fixture
def quick(monkeypatch):
    """Let documents cost nothing to make."""
    results = b'{"format": "pcompare results 1"}'
    cheap.documents(monkeypatch, b"%PDF-new%%EOF", EMPTY_ZIP, results)


EMPTY_ZIP = b"PK\x05\x06" + b"\0" * 18


# --- a disk that gives out ------------------------------------------------------------------------


class Failing:
    """A function of the system that fails at its n-th call."""

    def __init__(self, real, at, code):
        self.real, self.left, self.code = real, at, code

    def __call__(self, *arguments, **options):
        self.left -= 1
        if self.left == 0:
            raise OSError(self.code, os.strerror(self.code))
        return self.real(*arguments, **options)


@pytest.mark.parametrize("at", [1, 2, 3, 4])
@pytest.mark.parametrize(
    ("where", "name", "code"),
    [
        (files.tempfile, "mkstemp", errno.ENOSPC),
        (files.os, "fdopen", errno.EIO),
        (files.os, "fsync", errno.ENOSPC),
        (files.os, "fsync", errno.EDQUOT),
        (files.os, "chmod", errno.EPERM),
    ],
    ids=lambda part: part if isinstance(part, str) else "",
)  # fmt: skip
def test_a_fault_at_any_step_before_the_first_replacement_changes_nothing(
    tmp_path, monkeypatch, capsys, quick, where, name, code, at
):
    folder = earlier(tmp_path / "out")
    monkeypatch.setattr(where, name, Failing(getattr(where, name), at, code))
    assert cli.main(["memo", "--out", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"error: {folder / DOCUMENTS[at - 1]}: found {os.strerror(code).lower()}")
    assert "; needs " in err and len(err.splitlines()) == 1
    monkeypatch.undo()
    assert state(folder) == ["earlier"] * 4 and only_documents(folder)


@pytest.mark.parametrize("at", [1, 2, 3, 4])
def test_a_fault_between_replacements_names_what_is_in_place(
    tmp_path, monkeypatch, capsys, quick, at
):
    folder = earlier(tmp_path / "out")
    monkeypatch.setattr(files.os, "replace", Failing(os.replace, at, errno.EACCES))
    assert cli.main(["memo", "--out", str(folder)]) == 1
    err = capsys.readouterr().err
    assert err.startswith(f"error: {folder / DOCUMENTS[at - 1]}: found permission denied; needs")
    assert "close it and run again" in err
    assert [name for name in DOCUMENTS[: at - 1] if name not in err] == []
    monkeypatch.undo()
    assert state(folder) == ["new"] * (at - 1) + ["earlier"] * (5 - at) and only_documents(folder)


def bounded(kind, most):
    return lambda: resource.setrlimit(kind, (most, most))


@pytest.mark.parametrize("size", [0, 1, 4096, 65_536])
def test_a_limit_on_the_size_of_files(tmp_path, size):
    """The system's own refusal, in the middle of a file."""
    path = tmp_path / "checks.json"
    path.write_bytes(b"earlier")
    limit = bounded(resource.RLIMIT_FSIZE, size)
    done = finished(command("verify", "--json", path), preexec_fn=limit)
    assert done.returncode == 1 and done.stdout == ""
    assert done.stderr.startswith(f"error: {path}: found file too large; needs room on the disk")
    assert len(done.stderr.splitlines()) == 1
    assert path.read_bytes() == b"earlier" and os.listdir(tmp_path) == ["checks.json"]


@pytest.mark.parametrize("size", [0, 1, 65_536])
def test_a_form_where_temporary_files_have_no_room(tmp_path, size):
    """On their way into a form its sheets lie in files elsewhere."""
    path = tmp_path / "plant.xlsx"
    path.write_bytes(b"earlier")
    limit = bounded(resource.RLIMIT_FSIZE, size)
    done = finished(command("form", path, "--overwrite"), preexec_fn=limit)
    assert done.returncode == 1 and done.stdout == ""
    assert done.stderr.startswith("error: folder of temporary files: found ")
    assert done.stderr.endswith("; needs room and leave to write there\n")
    assert len(done.stderr.splitlines()) == 1
    assert path.read_bytes() == b"earlier" and os.listdir(tmp_path) == ["plant.xlsx"]


def test_a_disk_that_is_full(tmp_path):
    """A real one, of 64 kB, where the system lets us make it."""
    folder = tmp_path / "out"
    folder.mkdir()
    script = (
        'mount -t tmpfs -o size=64k tmpfs "$0" && echo earlier >"$0/plant.xlsx" || exit 99; '
        '"$@"; code=$?; ls -A "$0"; cat "$0/plant.xlsx"; exit $code'
    )
    unshare = shutil.which("unshare")
    if unshare is None or os.geteuid() != 0:
        pytest.skip("needs root and unshare, to mount a small disk")
    form_there = command("form", folder / "plant.xlsx", "--overwrite")
    done = finished([unshare, "--mount", "sh", "-c", script, folder, *form_there])
    if done.returncode == 99:
        pytest.skip("may not mount a small disk here")
    assert done.returncode == 1
    assert f"error: {folder}/" in done.stderr and "no space left on device; needs" in done.stderr
    assert done.stdout.split() == ["plant.xlsx", "earlier"]


@pytest.mark.parametrize(
    "arguments",
    [("--version",), ("check",), ("calc",), ("tables", "biology"), ("verify", "--json", "-")],
    ids=" ".join,
)
def test_standard_output_that_is_full(arguments):
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            command(*arguments), stdout=full, stderr=subprocess.PIPE, timeout=LONGEST,
            text=True, env=environment,
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.splitlines() == [
        "error: standard output: found no space left on device; needs a place with room, and leave "
        "to write"
    ]


def test_too_little_memory_is_one_sentence(tmp_path):
    limit = bounded(resource.RLIMIT_AS, 700 << 20)
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    done = finished(
        command("brief", "--draws", 100_000, "--out", tmp_path / "out"), preexec_fn=limit,
        env=environment,
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.startswith("error: memory: found too little; needs fewer draws")
    assert len(done.stderr.splitlines()) == 1
    assert list((tmp_path / "out").iterdir()) == []


# --- where documents may not go -------------------------------------------------------------------


def test_a_folder_that_may_not_be_written_to(tmp_path):
    path = tmp_path / "plant.xlsx"
    path.write_bytes(b"earlier")
    tmp_path.chmod(0o555)
    done = finished([*as_nobody_special(), *command("form", path, "--overwrite")])
    tmp_path.chmod(0o755)
    assert done.returncode == 1 and done.stdout == ""
    assert done.stderr == (
        f"error: {path}: found permission denied; needs a folder that can be written to\n"
    )
    assert path.read_bytes() == b"earlier" and os.listdir(tmp_path) == ["plant.xlsx"]


def test_a_folder_that_may_not_be_made(tmp_path):
    tmp_path.chmod(0o555)
    folder = tmp_path / "out"
    done = finished([*as_nobody_special(), *command("brief", "--draws", 0, "--out", folder)])
    tmp_path.chmod(0o755)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        f"error: {folder}: found permission denied; needs a folder that can be made\n"
    )


@pytest.mark.parametrize("ending", ["xlsx", "toml"])
def test_an_input_that_may_not_be_read(tmp_path, ending):
    path = tmp_path / f"plant.{ending}"
    path.write_bytes(b"x")
    path.chmod(0)
    done = finished([*as_nobody_special(), *command("check", path)])
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        f"error: plant.{ending}: 1 problem\n"
        f"  plant.{ending}: found permission denied; needs leave to read it\n"
    )


def test_a_folder_that_is_a_link_to_a_folder_is_taken(tmp_path, capsys, quick):
    folder = earlier(tmp_path / "real")
    (tmp_path / "out").symlink_to(folder)
    assert cli.main(["memo", "--out", str(tmp_path / "out")]) == 0
    assert state(folder) == ["new"] * 4 and only_documents(folder)
    assert (tmp_path / "out").is_symlink()


@pytest.mark.parametrize(
    ("target", "found"), [("file", "a file of that name"), (None, "a link that leads nowhere")]
)
def test_a_folder_that_is_another_link(tmp_path, capsys, quick, target, found):
    (tmp_path / "file").write_bytes(b"kept")
    (tmp_path / "out").symlink_to(tmp_path / (target or "nothing"))
    assert cli.main(["memo", "--out", str(tmp_path / "out")]) == 1
    assert capsys.readouterr().err == f"error: {tmp_path / 'out'}: found {found}; needs a folder\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "out"]
    assert (tmp_path / "file").read_bytes() == b"kept"


@pytest.mark.parametrize("name", DOCUMENTS)
@pytest.mark.parametrize("kind", ["link to a file", "link to nothing", "folder", "pipe"])
def test_a_document_in_whose_place_stands_something_else(tmp_path, capsys, quick, name, kind):
    folder = earlier(tmp_path / "out")
    (tmp_path / "kept").write_bytes(b"kept")
    path = folder / name
    path.unlink()
    if kind.startswith("link"):
        path.symlink_to(tmp_path / ("kept" if kind == "link to a file" else "nothing"))
    elif kind == "folder":
        path.mkdir()
    else:
        os.mkfifo(path)
    before = path.lstat()
    found = {"link": "a link; needs a plain file name", "folder": "a folder; needs a file name",
             "pipe": "a device or pipe; needs a plain file name"}[kind.split()[0]]  # fmt: skip
    assert cli.main(["memo", "--out", str(folder)]) == 1
    assert capsys.readouterr().err == f"error: {path}: found {found}\n"
    assert stat.S_IFMT(path.lstat().st_mode) == stat.S_IFMT(before.st_mode)
    assert (tmp_path / "kept").read_bytes() == b"kept" and not (tmp_path / "nothing").exists()
    assert only_documents(folder)
    others = [other for other in DOCUMENTS if other != name]
    assert all((folder / other).read_bytes().startswith(b"earlier") for other in others)


# --- two runs at once -----------------------------------------------------------------------------

WRITER = """
import sys
from pathlib import Path
from pcompare import files
folder, tag, rounds = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
names = ("options_memo.pdf", "board_brief.pdf", "calculation_book.xlsx", "results.json")
for number in range(rounds):
    text = f"{tag} {number} ".encode() * 20_000
    files.write_all({folder / name: text for name in names})
    print(number, flush=True)
"""


def test_sets_of_two_writers_never_mix(tmp_path):
    """Whoever comes last, the four documents are of one run: looked at after each kill of both."""
    seed = random.randrange(10**6)
    print("seed", seed)
    chance = random.Random(seed)
    mixed = 0
    for _ in range(10):
        pair = [
            subprocess.Popen([sys.executable, "-c", WRITER, tmp_path, tag, "12"],
                             stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
            for tag in "AB"
        ]  # fmt: skip
        time.sleep(chance.uniform(0.0, 0.05))
        for one in pair:
            assert one.wait(LONGEST) == 0, one.stderr.read()
            one.stderr.close()
        texts = {path.read_bytes() for path in tmp_path.iterdir()}
        mixed += len(texts) > 1
        assert all(len(set(text.split(b" ")[:-1:2])) == 1 for text in texts)
    assert mixed == 0
    assert only_documents(tmp_path)


def test_two_runs_into_one_folder(tmp_path):
    """Both end well, and what lies there is one of them, whole."""
    both = [started(tmp_path, "--set", f"project.name=Plant {tag}") for tag in "AB"]
    for one in both:
        _, err = one.communicate(timeout=2 * LONGEST)
        assert (one.returncode, err) == (0, b"")
    assert state(tmp_path) == ["new"] * 4 and only_documents(tmp_path)
    found = json.loads((tmp_path / "results.json").read_bytes())
    run_id = found["provenance"]["run_id"]
    from pypdf import PdfReader

    for name in DOCUMENTS[:2]:
        assert run_id in PdfReader(tmp_path / name).pages[0].extract_text()


# --- interruptions --------------------------------------------------------------------------------


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_a_wish_to_stop_is_heard_before_or_after_all_replacements(
    tmp_path, monkeypatch, capsys, quick, stop
):
    """Between two documents it waits: the set is of one run."""
    folder = earlier(tmp_path / "out")
    replace = os.replace

    def stopping(part, path):
        replace(part, path)
        os.kill(os.getpid(), stop)

    monkeypatch.setattr(files.os, "replace", stopping)
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        assert cli.main(["memo", "--out", str(folder)]) == 130
    finally:
        signal.signal(signal.SIGTERM, before)
    assert capsys.readouterr().err == "stopped; every document there is whole\n"
    assert state(folder) == ["new"] * 4 and only_documents(folder)


LATE = """
import os, signal, sys

class Late:
    def __del__(self, kill=os.kill, process=os.getpid(), stop=signal.SIGINT):
        kill(process, stop)

sys.late = Late()
sys.argv = ["pcompare", "--version"]
from pcompare import cli
sys.exit(cli.program())
"""


def test_interrupted_as_python_ends():
    """The work was done and told, so the run ends well; Python alone would die of the signal."""
    done = subprocess.run([sys.executable, "-c", LATE], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("pcompare ")


@pytest.fixture(scope="module")
def usual(tmp_path_factory):
    """How long a memo takes here and now, in seconds."""
    folder = tmp_path_factory.mktemp("usual")
    begun = time.monotonic()
    done = started(folder)
    _, err = done.communicate(timeout=LONGEST)
    assert (done.returncode, err) == (0, b"")
    assert state(folder) == ["new"] * 4
    return time.monotonic() - begun


def moments(seed, usual, first=0.0):
    """Give moments of a run: over all of it, and for a half at the time when documents appear."""
    chance = random.Random(seed)
    if chance.random() < 0.5:
        return chance.uniform(first, usual), False
    return chance.expovariate(200.0), True


def stopped_at(folder, seed, usual, stop, group=True, first=0.0):
    """Start a memo and stop it at a random moment; give its status and what it said."""
    delay, at_the_end = moments(seed, usual, first)
    print(f"seed {seed}: {delay:.4f} s after {'the first part' if at_the_end else 'the start'}")
    memo_run = started(folder)
    give_up = time.monotonic() + LONGEST
    while at_the_end and memo_run.poll() is None and not parts(folder):
        assert time.monotonic() < give_up
        time.sleep(0.0005)
    time.sleep(delay)
    with contextlib.suppress(ProcessLookupError):
        (os.killpg if group else os.kill)(memo_run.pid, stop)
    out, err = memo_run.communicate(timeout=LONGEST)
    wait_for_group(memo_run.pid)
    return memo_run.returncode, out.decode(), err.decode()


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1, 9))
def test_interrupted_at_any_moment(tmp_path, usual, seed):
    """As with Ctrl-C, which all processes of the run hear."""
    folder = earlier(tmp_path / "out")
    status, _, err = stopped_at(folder, seed, usual, signal.SIGINT, first=min(1.0, usual / 2))
    found = state(folder)
    assert only_documents(folder)
    if status == 0:  # it was through
        assert (err, found) == ("", ["new"] * 4)
    else:
        assert (status, err) == (130, "stopped; every document there is whole\n")
        assert len(set(found)) == 1, found


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1, KILLS + 1))
def test_killed_at_any_moment(tmp_path, usual, seed):
    """The whole group at once, or in one case of three the first process alone."""
    folder = earlier(tmp_path / "out")
    status, out, err = stopped_at(folder, seed, usual, signal.SIGKILL, group=seed % 3 > 0)
    assert status in (0, -signal.SIGKILL)
    assert err == ""
    found = state(folder)  # each of them whole
    left = parts(folder)
    assert status != 0 or found == ["new"] * 4
    if out == "" and not left and status != 0 and "new" not in found:
        assert only_documents(folder)
    files.write(folder / "next", b"next")  # the next run, whatever it writes there
    (folder / "next").unlink()
    assert only_documents(folder), "what a kill left is not removed"
    assert state(folder) == found


def test_writers_killed_at_any_moment(tmp_path):
    """Killed among the writing itself, again and again: nothing half, and nothing left after."""
    seed = random.randrange(10**6)
    chance = random.Random(seed)
    left = 0
    for number in range(KILLS):
        delay = chance.uniform(0.0, 0.03)
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, tmp_path, str(number), "100000"], stdout=subprocess.PIPE
        )
        assert writer.stdout.readline()
        time.sleep(delay)
        writer.kill()
        writer.wait()
        writer.stdout.close()
        left += len(parts(tmp_path))
        for name in DOCUMENTS:
            words = (tmp_path / name).read_bytes().split(b" ")[:-1]
            assert len(words) == 40_000 and len(set(words[::2])) == len(set(words[1::2])) == 1, (
                f"seed {seed}, kill {number}, {delay:.4f} s after the first set: {name} is no whole"
            )
        files.write(tmp_path / "next", b"")
        (tmp_path / "next").unlink()
        assert only_documents(tmp_path), f"seed {seed}, kill {number}"
    assert left > 0, "no kill met a writing: the test saw nothing"
