"""A print server of our own on a socket: the system's CUPS, with queues that print and that never do.

Queue `desk` is a network printer that takes everything, queue `deaf` one that takes the connection and never
reads. `PreserveJobFiles No` is what SAFETY.md asks of a site's print server.
"""

import os
import socket
import subprocess
import threading
import time
from pathlib import Path

from kiosk.base.system_packages import program

CUPSD = program("cupsd") or ""
CONFIGURATION = """
LogLevel warn
PreserveJobHistory {preserve}
PreserveJobFiles {preserve}
Listen {folder}/cups.sock
Browsing No
WebInterface No
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  JobPrivateAccess all
  JobPrivateValues none
  <Limit All>
    Order deny,allow
  </Limit>
</Policy>
"""
FILES = """
ServerRoot {folder}/etc
RequestRoot {folder}/spool
TempDir {folder}/tmp
CacheDir {folder}/cache
StateDir {folder}/state
ErrorLog {folder}/error_log
AccessLog {folder}/access_log
PageLog {folder}/page_log
FileDevice Yes
SystemGroup root
Group lp
"""


class PrintServer:
    """Use it in a `with`; `environment` sends lp, lpstat and cancel to it."""

    def __init__(self, folder: Path, preserve: str = "No") -> None:
        self.folder, self.printed = folder, bytearray()
        for name in ("etc", "spool", "tmp", "cache", "state"):
            (folder / name).mkdir()
        (folder / "cupsd.conf").write_text(CONFIGURATION.format(folder=folder, preserve=preserve))
        (folder / "cups-files.conf").write_text(FILES.format(folder=folder))
        self.environment = {"CUPS_SERVER": str(folder / "cups.sock")}

    def __enter__(self) -> "PrintServer":
        self._deaf = socket.create_server(("127.0.0.1", 0))
        self._paper = socket.create_server(("127.0.0.1", 0))
        threading.Thread(target=self._take, daemon=True).start()
        self._server = subprocess.Popen(
            [CUPSD, "-f", "-c", str(self.folder / "cupsd.conf"), "-s", str(self.folder / "cups-files.conf")],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self._wait()
        self.queue("desk", f"socket://127.0.0.1:{self._paper.getsockname()[1]}", "Room 4")
        self.queue("deaf", f"socket://127.0.0.1:{self._deaf.getsockname()[1]}", "Room 9")
        self.run("lpadmin", "-d", "desk")
        return self

    def __exit__(self, *_: object) -> None:
        self._server.terminate()
        self._server.wait(10)
        self._deaf.close()
        self._paper.close()

    def queue(self, name: str, device: str, words: str) -> None:
        self.run("lpadmin", "-p", name, "-E", "-v", device, "-m", "raw", "-D", words)

    def run(self, *command: str) -> str:
        done = subprocess.run(command, env={**os.environ, **self.environment}, capture_output=True, text=True,
                              timeout=20)
        if done.returncode:
            raise RuntimeError(f"{command}: {done.stderr}")
        return done.stdout

    def spooled(self) -> list[str]:
        """Files of jobs that the server still keeps: data (d...) and control (c...)."""
        return sorted(path.name for path in (self.folder / "spool").rglob("*") if path.is_file())

    def _take(self) -> None:
        """The printer: every byte of every connection."""
        while True:
            try:
                connection, _ = self._paper.accept()
            except OSError:
                return
            with connection:
                while data := connection.recv(65536):
                    self.printed += data

    def _wait(self) -> None:
        for _ in range(200):
            if (self.folder / "cups.sock").exists():
                return
            time.sleep(0.02)
        raise RuntimeError("the print server did not start")
