"""Real processes that use the store, each a fork of one that has imported it already.

Run as ``python -m tests.records.seats``: each line of input names a job and its arguments; a fork
does it and prints what the store acknowledged, line by line. ``ended`` follows once it is gone.
"""

import itertools
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import psycopg  # noqa: F401 - so that no fork has to import it
import sqlalchemy.dialects.postgresql.psycopg  # noqa: F401

from diagnose.records.errors import ServerLostError
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import open_store
from tests.records.acts import LATER, answer, check, token

ROOT = Path(__file__).parents[2]


def stream(url, case_id, start):
    """Answer without end and print each acknowledged change: number, check, answer."""
    store = open_store(url)
    kept = store.read(case_id)
    print("ready", flush=True)
    for i in itertools.count(start):
        name, said = f"check_{i % 20}", f"answer {i}"
        kept = answer(store, kept, name, said)
        print(kept.number, name, said, flush=True)


def wait(path, case_id, start):
    """The same with a server that never answers: all goes to the outbox."""

    def away():
        raise ServerLostError("The server does not answer.")

    seat = SteadyStore(away, Outbox(Path(path)))
    kept = seat.read(case_id)
    print("ready", flush=True)
    for i in itertools.count(start):
        name, said = f"check_{i % 20}", f"answer {i}"
        case = kept.case.with_entry(check(name, said, by="ada"))
        kept = seat.keep(kept, case, "ada", LATER, token())
        print(i, name, said, flush=True)


def talk(url, case_id, name):
    """Answer the question that the other seat answers too, then twenty of its own."""
    store = open_store(url)
    kept = answer(store, store.read(case_id, 1), "shared", f"said by {name}", name)
    for i in range(20):
        kept = answer(store, kept, f"{name}_{i}", "yes", name)
    print(kept.number, flush=True)


JOBS = {"stream": stream, "wait": wait, "talk": talk}


class Nursery:
    """The parent of all seats; one at a time with `seat`, two at once with two nurseries."""

    def __init__(self):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.records.seats"],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self, job, *arguments):
        """Start a seat and give its process id."""
        self.process.stdin.write(json.dumps([job, *arguments]) + "\n")
        self.process.stdin.flush()
        return int(self.line())

    def line(self):
        line = self.process.stdout.readline()
        if not line:
            message = "The parent of the seats is gone."
            raise RuntimeError(message)
        return line.rstrip("\n")

    def rest(self):
        """Give the whole lines that are left of a seat, once it is gone.

        The last is what a kill cut short, or empty: "ended" never stands behind it in one line.
        """
        return list(iter(self.line, "ended"))[:-1]

    def close(self):
        self.process.stdin.close()
        self.process.stdout.close()
        self.process.wait()


def main():
    for line in sys.stdin:
        job, *arguments = json.loads(line)
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            print(os.getpid(), flush=True)
            JOBS[job](*arguments)
            os._exit(0)
        os.waitpid(child, 0)
        print("\nended", flush=True)


if __name__ == "__main__":
    main()
