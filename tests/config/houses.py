"""Whole houses for tests that need real processes: a data folder each, its server, and a browser of sorts."""

import os
import re
import signal
import subprocess
import sys
from http.client import HTTPConnection
from pathlib import Path
from typing import ClassVar
from urllib.parse import urlencode

BASE = Path(__file__).resolve().parents[2]


def environment(folder: Path) -> dict[str, str]:
    """What a process of this house sees."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COV_", "SCOPULA_"))}
    ours = {"SCOPULA_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings", "PYTHONPATH": str(BASE)}
    return {**kept, **ours, "PYTHONUNBUFFERED": "1"}


def run(folder: Path, *arguments: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """Run a command of the program on this house's data."""
    command = [sys.executable, "-m", "django", *arguments]
    done = subprocess.run(command, cwd=BASE, env=environment(folder), capture_output=True, text=True, timeout=60)
    assert not check or done.returncode == 0, done.stdout + done.stderr
    return done


class Server:
    """`up` on a free port of this machine, ready when the constructor returns."""

    started: ClassVar[list["Server"]] = []

    answers: ClassVar[str] = r"answers at http://127\.0\.0\.1:(\d+)/"

    def __init__(self, folder: Path, *options: str) -> None:
        command = [sys.executable, "-m", "django", "up", "--host=127.0.0.1", "--port=0", "--no-qr", *options]
        self.started.append(self)
        self.process = subprocess.Popen(
            command, cwd=BASE, env=self.sees(folder), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        self.said = ""
        self.port = self.read_until(self.answers)

    def sees(self, folder: Path) -> dict[str, str]:
        """The server's environment."""
        return environment(folder)

    def read_until(self, pattern: str) -> int:
        """Read what the server says up to this, and return the number in it."""
        while not (found := re.search(pattern, self.said)):
            line = self.process.stdout.readline()
            assert line, f"the server did not start: {self.said}"
            self.said += line
        return int(found[1])

    @classmethod
    def stop_all(cls) -> None:
        """After a test that failed half-way."""
        for server in cls.started:
            if server.process.returncode is None:
                server.stop(signal.SIGKILL)
        cls.started.clear()

    def stop(self, how: int = signal.SIGINT) -> int:
        """Send a signal, wait for the end, and return how it ended."""
        self.process.send_signal(how)
        self.said += self.process.communicate(timeout=20)[0]
        return self.process.returncode


class SecureServer(Server):
    """The same under TLS."""

    answers: ClassVar[str] = r"answers at https://127\.0\.0\.1:(\d+)/"

    def __init__(self, folder: Path, *options: str) -> None:
        super().__init__(folder, "--https", "--https-port=0", *options)
        self.plain_port = self.read_until(r"once: http://127\.0\.0\.1:(\d+)/ca +SHA-256 [0-9A-F:]{95}\n")

    def sees(self, folder: Path) -> dict[str, str]:
        """As `manage.py` sets it."""
        return {**environment(folder), "SCOPULA_HTTPS": "1"}


class Browser:
    """Keeps cookies, and one connection."""

    def __init__(self, port: int, cookies: dict[str, str] | None = None) -> None:
        self.connection = HTTPConnection("127.0.0.1", port, timeout=10)
        self.cookies = dict(cookies or {})
        self.set_cookies: list[str] = []

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, *error: object) -> None:
        self.connection.close()

    def ask(
        self, method: str, path: str, body: str | None = None, headers: dict[str, str] | None = None
    ) -> tuple[int, str]:
        """Send a request and return the status and the text."""
        headers = {**(headers or {}), "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        self.connection.request(method, path, body, headers)
        response = self.connection.getresponse()
        text = response.read().decode()
        for name, value in response.getheaders():
            if name.lower() == "set-cookie":
                self.set_cookies.append(value)
                self.cookies.update([value.partition(";")[0].split("=", 1)])
        return response.status, text

    def send(self, path: str, headers: dict[str, str] | None = None, **fields: str) -> int:
        """Send a form."""
        token = self.cookies["scopula_csrf"]
        return self.ask("POST", path, urlencode({"csrfmiddlewaretoken": token, **fields}), headers)[0]
