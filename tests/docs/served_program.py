"""The program as a shell finds it, run by the process of the tests: without its start.

Shells and hooks call `cinchbook` by name. The command they find sends folder, words and variables
to this process and hands back what it answers.
"""

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from socketserver import StreamRequestHandler, TCPServer
from threading import Thread
from typing import Any, Final

from tests.calling import call

_CLIENT: Final = """\
#!{python} -IS
import json, os, socket, sys
with socket.create_connection({address}) as line:
    asked = [os.getcwd(), sys.argv[1:], dict(os.environ)]
    line.sendall(json.dumps(asked).encode() + b"\\n")
    code, out, err = json.loads(line.makefile("rb").read())
sys.stdout.buffer.write(out.encode())
sys.stderr.buffer.write(err.encode())
sys.exit(code)
"""

_Answer = tuple[int, str, str]
"""Exit code, standard output and standard error."""


class _Server(TCPServer):
    """Runs one command after the other."""

    remembered: dict[tuple[str, ...], _Answer] | None = None

    def answer(self, folder: str, words: Sequence[str], env: Mapping[str, str]) -> _Answer:
        """What the command prints and ends with; from memory where it was run before."""
        asked = (folder, *words)
        if self.remembered is not None and asked in self.remembered:
            return self.remembered[asked]
        done = call(Path(folder), *words, **env)
        answer = (done.returncode, done.stdout, done.stderr)
        if self.remembered is not None:
            self.remembered[asked] = answer
        return answer


class _Handler(StreamRequestHandler):
    server: Any

    def handle(self) -> None:
        self.wfile.write(
            json.dumps(self.server.answer(*json.loads(self.rfile.readline()))).encode()
        )


class ServedProgram:
    """The program in a folder that may be put before others into PATH."""

    def __init__(self, server: _Server, folder: Path) -> None:
        self._server = server
        self.folder = folder

    @contextmanager
    def running_nothing_twice(self) -> Iterator[None]:
        """Meanwhile a command with the words of an earlier one gets the answer of that.

        For files that stay as they are: the reports of the earlier one are still there.
        """
        self._server.remembered = {}
        try:
            yield
        finally:
            self._server.remembered = None


@contextmanager
def served_program(folder: Path) -> Iterator[ServedProgram]:
    """The program, written into a folder and answered from this process."""
    with _Server(("127.0.0.1", 0), _Handler) as server:
        program = folder / "cinchbook"
        program.write_text(_CLIENT.format(python=sys.executable, address=server.server_address))
        program.chmod(0o755)
        Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        try:
            yield ServedProgram(server, folder)
        finally:
            server.shutdown()
