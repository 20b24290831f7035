"""`python3 tests --bare`: both commands of the README in a minimal Debian 12, as root and as a plain user.

The committed tree is cloned into it. The demo's files must be those of the same demo outside, byte for byte;
the kiosk is opened once under a display and looked at. `--whole` runs the whole suite there instead of the
tests named below; `--if-due` only where set-up, the locks or the list of packages changed since the record.
"""

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from kiosk.base.package_installation import is_administrator
from tests.bare import record
from tests.bare.minimal_system import SUITE, Done, MinimalSystem, size_mb
from tests.bare.window import faults
from tests.sources import ROOT

DEMO = ("demo", "--seed", "7", "--visits", "3")
PLAIN = "person"
NO_NETWORK = "The network does not reach the packages. Connect this machine"
KILL_WHILE_IT_FETCHES = """
python3 kiosk "$@" & set_up=$!
while kill -0 $set_up && ! ls .venv/wheels/kiosk/*.whl > /dev/null 2>&1; do sleep 0.1; done
kill -KILL $set_up
"""
# At least one test for every system package of the list, and the tests of set-up itself.
SUBSET = (
    "tests/base",
    "tests/test_needed_packages.py",
    "tests/test_rooms.py",
    "tests/app/test_printing.py",
    "tests/cli/test_stopping.py",
    "tests/i18n/test_checking.py",
    "tests/i18n/test_speech.py",
    "tests/report/test_paper_pixels.py",
    "tests/storage/test_no_room.py",
    "tests/storage/test_server.py",
)
MISSING = re.compile(r"System packages are missing\. Run once as an administrator: (?P<line>apt-get .*)")


class Bare:
    """One run: what is compared with what, and what it says on the way."""

    def __init__(self, folder: Path, whole: bool) -> None:
        self.folder, self.whole, self.files = folder, whole, dict[str, str]()
        self.clone, self.demo = folder / "clone", folder / "demo"
        self.picture = folder / "outside.png"

    def outside(self) -> None:
        """The committed tree, its demo and its first screen on this machine."""
        subprocess.run(["git", "clone", "-q", "--no-hardlinks", str(ROOT), str(self.clone)], check=True)
        self.files = record.deciding_files(self.clone)
        own = os.environ | {"PYTHONPATH": str(self.clone)}
        python = [sys.executable, "-P", "-m"]
        kiosk = [*python, "kiosk", *DEMO, "--no-window", "--out", str(self.demo)]
        subprocess.run(kiosk, cwd=self.clone, env=own, check=True, stdout=subprocess.DEVNULL)
        look = [*python, "tests.bare.window", str(self.picture)]
        subprocess.run(look, cwd=self.clone, env=own, check=True)

    def inside(self, system: MinimalSystem, user: str) -> record.UsersRun:
        """Both commands, the comparison and the look, as one user of one bare system."""
        tree = "/srv/tree"
        if user != "root":
            system.must_run("root", ["useradd", "--create-home", user])
            tree = f"/home/{user}/tree"
        shutil.copytree(self.clone, system.inside(tree), symlinks=True)
        system.must_run("root", ["chown", "-R", f"{user}:", tree])
        began_mb = size_mb(system.root)
        if user == "root":
            self._without_a_network(system, user, tree)
        demo = self._command(system, user, tree, "kiosk", *DEMO, "--out", "/tmp/demo")
        same = same_files(self.demo, system.inside("/tmp/demo"))
        environment_mb = size_mb(system.inside(tree) / ".venv")
        say(f"  demo: {same} files, the same bytes as outside; {environment_mb} MB of environment, "
            f"{size_mb(system.root) - began_mb - environment_mb} MB of packages and files.")  # fmt: skip
        tests = self._command(system, user, tree, "tests", *(() if self.whole else SUBSET), CI="true")
        passed = int(re.findall(r"(\d+) passed", tests.said)[-1])
        what = "the whole suite" if self.whole else " ".join(SUBSET)
        say(f"  tests ({what}): {tests.said.splitlines()[-1]}")
        self._look(system, user, tree)
        both_mb = size_mb(system.inside(tree) / ".venv")
        say(f"  the environment with what tests need: {both_mb} MB.")
        return record.UsersRun(round(demo.took_s), round(tests.took_s), passed, environment_mb, same)

    def _command(self, system: MinimalSystem, user: str, tree: str, name: str, *arguments: str,
                 **variables: str) -> Done:  # fmt: skip
        """One of the two commands; a plain user is told a line first, which root then runs as it stands."""
        command = ["python3", name, *arguments]
        if user != "root":
            told = system.run(user, command, tree, **variables)
            found = MISSING.search(told.said)
            if told.code != 3 or found is None or "Traceback" in told.said:
                raise SystemExit(f"As {user}, {' '.join(command)} ended with {told.code} and not with one "
                                 f"line to run:\n{told.said[-3000:]}")  # fmt: skip
            say(f"  {name}: exit 3 and one line: {found['line']}")
            took = system.must_run("root", ["sh", "-c", found["line"]], DEBIAN_FRONTEND="noninteractive")
            say(f"  that line, as root and without sudo: {took.took_s:.0f} s.")
            if name == "kiosk":
                self._without_a_network(system, user, tree)
                self._killed(system, user, tree)
        done = system.must_run(user, command, tree, **variables)
        say(f"  python3 {name}: {done.took_s:.0f} s.")
        return done

    def _without_a_network(self, system: MinimalSystem, user: str, tree: str) -> None:
        """A set-up that reaches nothing says so in its last line."""
        done = system.run(user, ["python3", "kiosk", *DEMO], tree, network=False)
        last = done.said.splitlines()[-1]
        if done.code != 1 or "Traceback" in done.said or NO_NETWORK not in last:
            raise SystemExit(f"Without a network it ended with {done.code}:\n{done.said[-3000:]}")
        say(f"  without a network, after {done.took_s:.0f} s: {last}")

    def _killed(self, system: MinimalSystem, user: str, tree: str) -> None:
        """A set-up that is killed while it fetches: what has been fetched stays for the next."""
        system.run(user, ["sh", "-c", KILL_WHILE_IT_FETCHES, "sh", *DEMO], tree)
        wheels = list(system.inside(tree).glob(".venv/wheels/kiosk/*.whl"))
        kept = f"{len(wheels)} wheels, {sum(wheel.stat().st_size for wheel in wheels) / 1e6:.0f} MB"
        if not wheels:
            raise SystemExit("A set-up that was killed while it fetched kept nothing.")
        say(f"  killed (SIGKILL) while it fetched: {kept}, stay for the next try.")

    def _look(self, system: MinimalSystem, user: str, tree: str) -> None:
        python = f"{tree}/.venv/bin/python"
        system.must_run(user, [python, "-P", "-m", "tests.bare.window", "/tmp/inside.png"], tree)
        wrong = faults(system.inside("/tmp/inside.png"), self.picture)
        if wrong:
            kept = Path(tempfile.gettempdir(), f"bare-{user}.png")
            shutil.copyfile(system.inside("/tmp/inside.png"), kept)
            raise SystemExit(f"The kiosk's first screen, as {user}: {'; '.join(wrong)} (see {kept})")
        say("  window: the kiosk's first screen under Xvfb shows the pixels it shows outside.")


def same_files(outside: Path, inside: Path) -> int:
    """How many files both folders hold, byte for byte; only the Python that wrote them may be another."""
    names = [sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
             for folder in (outside, inside)]  # fmt: skip
    if names[0] != names[1]:
        raise SystemExit(f"The demo wrote other files inside: {sorted(set(names[0]) ^ set(names[1]))}")
    different = [name for name in names[0] if _bytes(outside / name) != _bytes(inside / name)]
    if different:
        raise SystemExit(f"The demo's bytes are not those outside: {', '.join(different)}")
    return len(names[0])


def _bytes(path: Path) -> bytes:
    """A file's bytes; in findings.json the version of Python that each visit names is left out."""
    data = path.read_bytes()
    if path.name == "findings.json":
        version = json.loads(data)["visits"][0]["visit"]["software"]["python"]
        data = data.replace(f'"python":"{version}"'.encode(), b'"python":""')
    return data


def say(line: str) -> None:
    print(line, flush=True)


def main() -> int:
    """Try it; 0 where all of it is as outside, or where nothing asks for it."""
    asked = argparse.ArgumentParser(prog="python3 tests --bare")
    asked.add_argument("--whole", action="store_true", help="run the whole suite inside")
    asked.add_argument("--if-due", action="store_true", help="only where set-up changed since it last passed")
    chosen = asked.parse_args()
    last = record.read(ROOT)
    changed = record.changed_since(last, ROOT)
    if chosen.if_due and last and not changed:
        say(f"Bare system: not tried, since nothing of set-up, locks and packages changed after {last.day}, "
            f"when both commands passed there ({record.PLACE}).")  # fmt: skip
        return 0
    say(f"Bare system: tried{', since these changed: ' + ', '.join(changed) if changed else ''}.")
    if not is_administrator():
        say("A bare system can be made by an administrator only (root).")
        return 1
    return _try(chosen.whole)


def _try(whole: bool) -> int:
    began_s = time.monotonic()
    status = ["git", "status", "--porcelain", "--untracked-files=no"]
    uncommitted = subprocess.run(status, cwd=ROOT, capture_output=True, text=True).stdout.rstrip()
    if uncommitted:
        say(f"What is not committed is not tried:\n{uncommitted}")
    folder = Path(tempfile.mkdtemp(prefix="bare-"))
    try:
        bare = Bare(folder, whole)
        bare.outside()
        say(f"outside: the demo and the first screen, {time.monotonic() - began_s:.0f} s.")
        made_s = time.monotonic()
        base = MinimalSystem.make(folder / "base")
        say(f"{SUITE}, minimal: {size_mb(base.root)} MB, {time.monotonic() - made_s:.0f} s.")
        users = {}
        for user in (PLAIN, "root"):
            say(f"as {'root' if user == 'root' else 'a plain user'}:")
            users[user] = bare.inside(base.copy(folder / f"system-{user}"), user)
            shutil.rmtree(folder / f"system-{user}")
    except KeyboardInterrupt:
        say("\rStopped.")
        return 130
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    took_s = time.monotonic() - began_s
    say(f"Bare system: both commands passed for both users, with the same bytes; {took_s:.0f} s.")
    if not uncommitted:
        record.write(ROOT, record.Record(bare.files, date.today().isoformat(), SUITE, whole, users))
    return 0


if __name__ == "__main__":
    sys.exit(main())
