"""A real PostgreSQL server for the tests: its own folder, its own port on loopback, gone afterwards."""

import glob
import os
import shutil
import socket
import subprocess
import tempfile
from pathlib import Path

import sqlalchemy as sa

USER = "kiosk_tests"


def programs() -> Path | None:
    """Where initdb and pg_ctl lie; None where PostgreSQL is not installed."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    installed = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb"))
    return Path(installed[-1]).parent if installed else None


class PostgresServer:
    """start, restart(immediate), stop; `engine(database)` enters it as its owner or as `user`."""

    def __init__(self) -> None:
        self.bin, self.folder = programs(), Path(tempfile.mkdtemp(prefix="pg-"))
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        if os.geteuid() == 0:  # the server refuses to run as root
            shutil.chown(self.folder, "postgres", "postgres")

    def start(self) -> "PostgresServer":
        data = self.folder / "data"
        if not data.exists():
            self._run("initdb", "-D", str(data), "-U", USER, "-A", "trust", "-E", "UTF8", "--no-sync")
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self.folder}"
        self._run("pg_ctl", "-D", str(data), "-w", "-o", options, "-l", str(self.folder / "log"), "start")
        return self

    def stop(self, mode: str = "fast") -> None:
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-m", mode, "-w", "stop")

    def remove(self) -> None:
        self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def engine(self, database: str = "postgres", user: str = USER) -> sa.Engine:
        return sa.create_engine(f"postgresql+psycopg://{user}@127.0.0.1:{self.port}/{database}",
                                pool_pre_ping=True)

    def new_database(self, name: str, template: str = "template0") -> None:
        admin = self.engine()
        with admin.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name} TEMPLATE {template}")
        admin.dispose()

    def _run(self, program: str, *options: str) -> None:
        as_user = ("runuser", "-u", "postgres", "--") if os.geteuid() == 0 else ()
        done = subprocess.run([*as_user, str(self.bin / program), *options], cwd=self.folder,
                              stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                              text=True, timeout=60)
        if done.returncode:
            raise RuntimeError(done.stderr)
