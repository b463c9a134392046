"""What the package touches outside itself: no network, no code from data, any terminal, any end."""

from __future__ import annotations

import ast
import io
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import pcompare
from pcompare import cli, streams

from . import cheap

KEY = "salt_single_point.metal_dose"
NAME = "project.name=Käsemühle Ωμέγα Город 水 😀"
LONGEST = 240  # seconds
# Every command as it is used; OUT is a folder to write into.
USES = {
    "form": ("form", "OUT/plant.xlsx"),
    "check": ("check", "--set", NAME),
    "compare": ("compare", "--set", NAME),
    "memo": ("memo", "--draws", "3", "--out", "OUT/水", "--set", NAME),
    "brief": ("brief", "--draws", "3", "--out", "OUT/水", "--set", NAME),
    "targets": ("targets", "--steps", "2"),
    "portfolio": ("portfolio", "OUT/plants.csv", "--out", "OUT/many", "--jobs", "1"),
    "explain": ("explain", KEY),
    "calc": ("calc", "ph_open", "--help"),
    "tables": ("tables", "input_fields"),
    "verify": ("verify",),
}
PLANTS = "name,permit.tp\n水,0.5\n"
MORE = (
    ("--help",), ("--version",), ("calc",), ("tables",), ("compare", "--json", "-"),
    ("explain", KEY, "--json"), ("verify", "--json", "-"), ("check", "--set", "project.date=水"),
)  # fmt: skip


def used(arguments, folder):
    (folder / "plants.csv").write_text(PLANTS, encoding="utf-8")
    return [argument.replace("OUT", str(folder)) for argument in arguments]


def test_every_command_is_used_here():
    assert set(USES) == set(cli.COMMANDS)


# --- what the source may not call -----------------------------------------------------------------

SOURCES = sorted(Path(pcompare.__file__).parent.rglob("*.py"))
# Modules that reach a network, start programs or make objects and code out of bytes.
FORBIDDEN_MODULES = {
    "pickle", "marshal", "shelve", "dbm", "copyreg", "joblib", "dill", "cloudpickle", "code",
    "codeop", "runpy", "imp", "subprocess", "pty", "ctypes", "cffi", "socket", "socketserver",
    "ssl", "http", "urllib", "ftplib", "smtplib", "poplib", "imaplib", "telnetlib", "xmlrpc",
    "asyncio", "webbrowser", "requests", "httpx", "aiohttp", "wsgiref",
}  # fmt: skip
FORBIDDEN_NAMES = {"eval", "exec", "compile", "__import__", "input", "breakpoint"}
FORBIDDEN_CALLS = {  # as the last part of a dotted name, whatever stands before it
    "system", "popen", "startfile", "read_pickle", "to_pickle", "read_html", "read_sql",
    "load_module", "exec_module", "urlopen",
}  # fmt: skip
FORBIDDEN_DOTTED = {
    "np.save", "pd.eval", "pandas.eval", "np.fromfile", "os.fork",
}  # fmt: skip
FORBIDDEN_BEGINNINGS = ("os.exec", "os.spawn", "os.posix_spawn")


# One call into the C library, to keep memory that it would give back and ask for again.
ALLOWED = {"portfolio/runner.py": ["ctypes"]}


def faults(tree):
    """Name what a module calls or imports that none may."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [a.name for a in node.names if a.name.split(".")[0] in FORBIDDEN_MODULES]
        elif isinstance(node, ast.ImportFrom):
            found += [node.module] if str(node.module).split(".")[0] in FORBIDDEN_MODULES else []
        elif isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            own = called.rpartition(".")[2]
            if called in FORBIDDEN_NAMES or own in FORBIDDEN_CALLS or called in FORBIDDEN_DOTTED:
                found.append(called)
            if called.startswith(FORBIDDEN_BEGINNINGS):
                found.append(called)
            if own == "import_module" and not ast.unparse(node.args[0]).startswith(
                ("f'pcompare.", "f'{equations.__name__}.")
            ):
                found.append(ast.unparse(node))
            if (
                own == "load"
                and called.startswith(("np.", "numpy."))
                and not any(word.arg == "allow_pickle" for word in node.keywords)
            ):
                found.append(called)
            found += [
                f"{called}({word.arg}=…)"
                for word in node.keywords
                if word.arg in ("shell", "allow_pickle") and ast.unparse(word.value) != "False"
            ]
    return found


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.stem)
def test_no_code_from_data_no_program_and_no_network_in_the_source(path):
    allowed = ALLOWED.get(path.relative_to(SOURCES[0].parent).as_posix(), [])
    assert faults(ast.parse(path.read_text(encoding="utf-8"))) == allowed


@pytest.mark.parametrize(
    "text",
    [
        "eval('1')", "exec(x)", "import pickle", "from urllib.request import urlopen",
        "import os\nos.system('ls')", "os.execv('a', [])", "import subprocess as s",
        "pd.read_pickle('a')", "np.load('a')", "np.lib.load(f, allow_pickle=True)",
        "run('ls', shell=True)", "importlib.import_module(name)", "__import__('os')",
    ],
)  # fmt: skip
def test_the_look_at_the_source_sees(text):
    assert faults(ast.parse(text))


# --- what commands do as they run -----------------------------------------------------------------

WATCHED = """
import json, sys

def watch(event, arguments):
    if event in ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname",
                 "socket.sendto", "socket.sendmsg", "subprocess.Popen", "os.system", "os.exec",
                 "os.posix_spawn", "webbrowser.open", "urllib.Request"):
        print("REACHED OUT", event, str(arguments)[:200], file=sys.__stderr__, flush=True)
        raise RuntimeError(event)

from pcompare import cli
sys.addaudithook(watch)
for arguments in json.loads(sys.argv[1]):
    try:
        status = cli.main(arguments)
    except SystemExit as end:
        status = end.code
    print("STATUS", arguments[0], status, file=sys.stderr)
"""


def test_no_command_reaches_for_a_network_or_another_program(tmp_path):
    commands = [used(arguments, tmp_path) for arguments in (*USES.values(), *MORE)]
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, json.dumps(commands)],
        capture_output=True, text=True, encoding="utf-8", timeout=2 * LONGEST,
        env={**os.environ, "PYTHONUTF8": "1"},
    )  # fmt: skip
    assert "REACHED OUT" not in done.stderr, done.stderr
    statuses = [line.split()[1:] for line in done.stderr.splitlines() if "STATUS" in line]
    assert len(statuses) == len(commands), done.stderr[-2000:]
    assert [status for _, status in statuses] == ["0"] * (len(commands) - 1) + ["1"]


def test_the_watch_on_commands_sees():
    script = WATCHED.replace("from pcompare import cli", CLI_THAT_CALLS)
    done = subprocess.run(
        [sys.executable, "-c", script, '[["x"]]'], capture_output=True, text=True, timeout=60
    )
    assert "REACHED OUT socket." in done.stderr


CLI_THAT_CALLS = """
import socket
class cli:
    def main(arguments):
        socket.create_connection(("127.0.0.1", 9), 1)
"""


# --- terminals of few letters, and ends that are closed -------------------------------------------


@pytest.fixture
def quick(monkeypatch):
    """Let documents cost nothing to make: this is about what is said of them."""
    cheap.documents(monkeypatch)


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
@pytest.mark.parametrize("arguments", [*USES.values(), *MORE], ids=" ".join)
def test_a_terminal_of_few_letters(arguments, encoding, tmp_path, monkeypatch, quick):
    """Nothing stops, and what an encoding lacks is put as plainly as can be."""
    streams_of = {}
    for name in ("stdout", "stderr"):
        streams_of[name] = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
        monkeypatch.setattr(sys, name, streams_of[name])
    try:
        status = cli.main(used(arguments, tmp_path))
    except SystemExit as end:
        status = end.code
    out, err = (
        stream.buffer.getvalue().decode(encoding)
        for stream in streams_of.values()
        if stream.flush() is None
    )
    monkeypatch.undo()
    wrong = "project.date=水" in arguments
    assert status == int(wrong)
    assert (err == "") != wrong and "Traceback" not in err
    if "--json" not in arguments:  # a document is bytes, whatever the terminal
        said = out + err
        assert said
        asks = NAME in arguments or wrong or arguments[0] == "tables"  # with questions of its own
        assert "?" not in said or asks, said


def test_letters_that_an_encoding_lacks():
    said = "−20\N{NARROW NO-BREAK SPACE}000 m³/d, 5 µg PO₄ → ≤ 3 °C – Käse 水 \udcff"
    streams.prepare()
    shown = said.encode("ascii", "pcompare.plain").decode()
    assert shown == "-20 000 m3/d, 5 ug PO4 -> <= 3 degC - Kase ? ?"
    assert said.encode("cp1252", "pcompare.plain").decode("cp1252") == (
        "-20 000 m³/d, 5 µg PO4 -> <= 3 °C – Käse ? ?"
    )


def shell(line, folder, **environment):
    """Run a line of shell, in which PCOMPARE is the command; give status, output and messages."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    if "PYTHONPATH" in os.environ:
        kept["PYTHONPATH"] = os.environ["PYTHONPATH"]
    kept["PCOMPARE"] = f"{sys.executable} -m pcompare"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", line], capture_output=True, timeout=LONGEST, cwd=folder,
        env={**kept, **environment},
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


@pytest.fixture
def here(tmp_path, monkeypatch):
    """Let a command that runs in another folder find this package all the same."""
    monkeypatch.setenv("PYTHONPATH", str(Path(pcompare.__file__).parent.parent))
    return tmp_path


@pytest.mark.parametrize("command", ["check", "verify", "calc", "--help", "tables", "compare"])
@pytest.mark.parametrize("reader", ["head -1", "true"])
def test_a_reader_that_goes_away(here, command, reader):
    status, _, err = shell(f"$PCOMPARE {command} | {reader}", here)
    assert (status, err) == (0, b"")


@pytest.mark.parametrize("command", ["check", "--version", "calc", "verify --json -"])
def test_output_that_is_closed(here, command):
    assert shell(f"$PCOMPARE {command} >&-", here) == (0, b"", b"")


def test_documents_do_not_need_open_ends(here):
    """With nothing open, no message may get into a document."""
    assert shell("$PCOMPARE form plant.xlsx >&- 2>&- <&-", here)[0] == 0
    assert [path.name for path in here.iterdir()] == ["plant.xlsx"]
    with zipfile.ZipFile(here / "plant.xlsx") as form:
        assert form.testzip() is None
    assert shell("$PCOMPARE verify --json checks.json >&- 2>&- <&-", here)[0] == 0
    assert json.loads((here / "checks.json").read_bytes())["passed"]


def test_messages_that_are_closed(here):
    assert shell("$PCOMPARE check none.toml 2>&-", here)[0] == 1
    assert shell("$PCOMPARE nothing 2>&-", here)[0] == 2
    assert shell("$PCOMPARE calc 2>&-", here)[0] == 0


@pytest.mark.parametrize("language", ["C", "POSIX", "C.UTF-8"])
@pytest.mark.parametrize("utf8", ["0", "1"])
def test_a_plain_locale(here, language, utf8):
    case = here / "Käse 水.toml"
    example = Path(pcompare.__file__).parent / "inputs" / "example.toml"
    case.write_bytes(example.read_bytes())
    plain = {"LC_ALL": language, "PYTHONUTF8": utf8, "PYTHONCOERCECLOCALE": "0"}
    status, out, err = shell(f"$PCOMPARE check '{case}' --set '{NAME}'", here, **plain)
    assert (status, err) == (0, b"")
    assert b"fields understood" in out and b"22" in out
    status, out, err = shell("$PCOMPARE check 'Käse 水 none.toml'", here, **plain)
    assert (status, out) == (1, b"")
    assert err.startswith(b"error: K") and err.count(b"\n") == 2 and b"Traceback" not in err
