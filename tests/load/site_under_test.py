"""A practice site of its own for a test: the program started on a fresh store, and people who use it."""
import asyncio
import json
import os
import signal
import socket
import subprocess
import time
import urllib.parse

PASSPHRASE = "nine otters under a bridge"


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Site:
    """`evenhand serve` on a store, killed and started again at will on the same port.

    It runs as behind a proxy, so that every person can come from an address of their own: a class of 300
    that signs in from one address within a minute is slowed down, and rightly."""

    def __init__(self, program, folder):
        self.program, self.port = program, free_port()
        self.store = os.path.join(folder, "site.db")
        self.log = open(os.path.join(folder, "site.log"), "ab")
        self.process = None
        self.setup = None

    def start(self):
        """Seconds until it answered."""
        began = time.monotonic()
        self.process = subprocess.Popen(
            [self.program, "serve", "--store", self.store, "--port", str(self.port), "--behind-proxy"],
            stdout=subprocess.PIPE, stderr=self.log, text=True)
        for line in self.process.stdout:
            if "/setup#" in line:
                self.setup = urllib.parse.urlsplit(line.strip()).fragment
                break
            # Only the first start prints the link.
            if "Serving" in line and self.setup is not None:
                break
        while True:
            try:
                with socket.create_connection(("127.0.0.1", self.port), timeout=5) as line:
                    line.sendall(b"GET /health HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
                    if b" 200 " in line.recv(4096):
                        return time.monotonic() - began
            except OSError:
                if self.process.poll() is not None:
                    raise RuntimeError(f"the site ended by itself; see {self.log.name}") from None
                time.sleep(0.005)

    def kill(self):
        """Dead already: nothing happens."""
        if self.process is None:
            return
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        self.process.stdout.close()

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(timeout=30)
        self.process.stdout.close()
        if code != 0:
            raise RuntimeError(f"the site ended with {code}")


class Gone(Exception):
    """The connection ended before the answer came: nobody knows whether the site took the request."""


class Person:
    """Somebody at a browser: one connection, one cookie, one address."""

    def __init__(self, site, name, number):
        self.site, self.name = site, name
        self.address = f"10.{number >> 16 & 255}.{number >> 8 & 255}.{number & 255}"
        self.cookie = ""
        self.reader = self.writer = None

    def leave(self):
        if self.writer is not None:
            self.writer.close()
        self.reader = self.writer = None

    async def ask(self, method, path, body=None):
        """The status and the body of the answer. Throws Gone."""
        try:
            if self.writer is None:
                self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.site.port)
            text = b"" if body is None else json.dumps(body).encode()
            self.writer.write(
                f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nSec-Fetch-Site: same-origin\r\n"
                f"Content-Type: application/json\r\nX-Forwarded-For: {self.address}\r\n"
                f"Cookie: {self.cookie}\r\nContent-Length: {len(text)}\r\n\r\n".encode() + text)
            head = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
            lines = head.split("\r\n")
            length = 0
            for line in lines[1:]:
                field, _, value = line.partition(":")
                field = field.lower()
                if field == "content-length":
                    length = int(value)
                elif field == "set-cookie":
                    self.cookie = value.strip().split(";")[0]
            answer = await self.reader.readexactly(length)
        except (OSError, asyncio.IncompleteReadError) as error:
            self.leave()
            raise Gone(str(error)) from error
        return int(lines[0].split(" ")[1]), answer

    async def must(self, method, path, body=None):
        status, answer = await self.ask(method, path, body)
        if status >= 300:
            raise RuntimeError(f"{self.name}: {method} {path}: {status} {answer[:300]!r}")
        return json.loads(answer)


async def open_class(site, students):
    """The instructor, a group, and students who joined it."""
    instructor = Person(site, "instructor", 1)
    await instructor.must("POST", "/api/setup",
                          {"token": site.setup, "rater": "instructor", "passphrase": PASSPHRASE})
    group = await instructor.must("POST", "/api/groups", {"title": "Invented class", "hours": 12})
    people = [Person(site, f"student-{n}", 256 + n) for n in range(students)]
    queue = asyncio.Queue()
    for person in people:
        queue.put_nowait(person)

    async def usher():
        while not queue.empty():
            person = queue.get_nowait()
            await person.must("POST", "/api/join",
                              {"code": group["code"], "rater": person.name, "passphrase": PASSPHRASE})

    # Passphrases are hashed two at a time.
    await asyncio.gather(*(usher() for _ in range(4)))
    instructor.leave()
    return people


async def timed_trials(person, sitting):
    """(case, item) -> the trials of it that have a timeline, counted as answers count them."""
    timed = {}
    for case in dict.fromkeys(step["case"] for step in sitting["steps"]):
        shown = await person.must("GET", f"/api/sittings/{sitting['id']}/cases/{case}")
        for item in shown["items"]:
            counting = [trial for trial in item["trials"] if not trial["practice"]]
            timed[case, item["id"]] = [n for n, trial in enumerate(counting, 1) if trial["timeline"]]
    return timed
