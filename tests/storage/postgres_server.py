"""A real PostgreSQL server for the tests: its own folder, its own port on loopback, gone afterwards."""

import glob
import os
import shutil
import socket
import subprocess
import tempfile
import time
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
        self._certificates = 0
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
        # fsync matters when the machine dies, and only the server does here
        options = (f"-p {self.port} -c listen_addresses=127.0.0.1 -c fsync=off "
                   f"-c unix_socket_directories={self.folder}")
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

    def encrypts(self, certificate: bytes | None, key: bytes = b"") -> None:
        """From now on show this certificate to whoever asks for TLS; None: no TLS at all."""
        data = self.folder / "data"
        self._certificates += 1
        names = {kind: f"{self._certificates}.{kind}" for kind in ("crt", "key")}
        for kind, content in (("crt", certificate or b""), ("key", key)):
            (data / names[kind]).write_bytes(content)
            (data / names[kind]).chmod(0o600)
            if os.geteuid() == 0:
                shutil.chown(data / names[kind], "postgres", "postgres")
        self._set({"ssl_cert_file": names["crt"], "ssl_key_file": names["key"],
                   "ssl": "off" if certificate is None else "on"})

    def asks_for_passwords(self, *users: str) -> None:
        """Let these users in by password and TLS only."""
        file = self.folder / "data" / "pg_hba.conf"
        rules = "".join(f"hostssl all {user} all scram-sha-256\nhost all {user} all reject\n"
                        for user in users)
        file.write_text(rules + file.read_text())
        self._set({})

    def _set(self, settings: dict[str, str]) -> None:
        """Settings of the running server, read by it when this returns."""
        admin = self.engine()
        with admin.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            for name, value in settings.items():
                connection.exec_driver_sql(f"ALTER SYSTEM SET {name} = '{value}'")
            before = connection.exec_driver_sql("SELECT pg_conf_load_time()").scalar_one()
            connection.exec_driver_sql("SELECT pg_reload_conf()")
        for _ in range(200):
            admin.dispose()
            with admin.connect() as connection:
                if connection.exec_driver_sql("SELECT pg_conf_load_time()").scalar_one() > before:
                    break
            time.sleep(0.02)
        admin.dispose()

    def empty(self, database: str, tables: list[str]) -> None:
        """Nobody is in the database any more and nothing is in these tables, whatever guards them."""
        owner = self.engine(database)
        with owner.begin() as connection:
            connection.exec_driver_sql(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                f"WHERE datname = '{database}' AND pid <> pg_backend_pid()")
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            connection.exec_driver_sql("; ".join(f"DELETE FROM {table}" for table in tables))
        owner.dispose()

    def new_database(self, name: str) -> None:
        admin = self.engine()
        with admin.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name} TEMPLATE template0")
        admin.dispose()

    def _run(self, program: str, *options: str) -> None:
        as_user = ("runuser", "-u", "postgres", "--") if os.geteuid() == 0 else ()
        done = subprocess.run([*as_user, str(self.bin / program), *options], cwd=self.folder,
                              stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                              text=True, timeout=60)
        if done.returncode:
            raise RuntimeError(done.stderr)
