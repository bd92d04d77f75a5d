"""A PostgreSQL server of the tests' own: a temporary folder, reached by its socket only."""

import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import psycopg

USER = "pull"


class Server:
    """Started once for all tests; its one database is emptied for each."""

    def __init__(self):
        self.folder = Path(tempfile.mkdtemp(prefix="pull-once-pg-"))
        if os.geteuid() == 0:  # the server refuses to run as root
            who = _other_user()
            shutil.chown(self.folder, who)
            self.as_user = ["runuser", "-u", who, "--"]
        else:
            self.as_user = []
        self._run("initdb", "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
        self.start()

    def start(self):
        # What is tried here is our code against a killed client, not the disc: no fsync.
        options = f"-k {self.folder} -c listen_addresses='' -c fsync=off"
        log = str(self.folder / "log")
        self._run("pg_ctl", "-w", "-t", "60", "-l", log, "-o", options, "start")

    def stop(self):
        self._run("pg_ctl", "-w", "-m", "immediate", "stop")

    def remove(self):
        self.stop()
        shutil.rmtree(self.folder)

    def new_url(self):
        """Give the URL of the database, with nothing in it."""
        with psycopg.connect(self.url, autocommit=True) as connection:
            connection.execute("DROP SCHEMA public CASCADE")
            connection.execute("CREATE SCHEMA public")
        return self.url

    @property
    def url(self):
        return f"postgresql://{USER}@/postgres?host={self.folder}"

    def _run(self, program, *arguments):
        command = [*self.as_user, _found(program), "-D", str(self.folder / "data"), *arguments]
        done = subprocess.run(
            command,
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
        if done.returncode:
            message = f"PostgreSQL's {program} failed: {done.stderr.strip()}"
            raise RuntimeError(message)


def _other_user():
    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name).pw_name
        except KeyError:
            continue
    message = "There is no user to run PostgreSQL as; it refuses to run as root."
    raise RuntimeError(message)


def _found(program):
    newest_first = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), reverse=True)
    found = next(iter(newest_first), None) or shutil.which(program)
    if found is None:
        message = f"There is no PostgreSQL server here ({program}): install postgresql."
        raise RuntimeError(message)
    return str(found)
