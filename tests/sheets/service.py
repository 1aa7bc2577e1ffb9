"""The real server on the demo's shop: a copy of its database, served with keys."""

import json
import os
import subprocess
import urllib.error
import urllib.request
from pathlib import Path


class Service:
    """A server that is stopped at the end."""

    def __init__(self, program, folder):
        self.folder = Path(folder)
        self.program = os.path.abspath(program)
        home = {"HOME": folder, "TMPDIR": folder, "XDG_CONFIG_HOME": folder, "XDG_DATA_HOME": folder}
        self.environment = {"PATH": os.environ["PATH"], **home}
        self.opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))

    def __enter__(self):
        database = self.folder / "shop.db"
        self._copy_of_demo(database)
        serve = ["serve", "--listen", "127.0.0.1:0", "--log-format", "json", "--database", database]
        self.process = self._start(*serve, stderr=subprocess.PIPE)
        for line in self.process.stderr:
            fields = json.loads(line).get("fields", {})
            if fields.get("message") == "serving":
                self.url = "http://" + fields["address"]
                break
        else:
            raise RuntimeError("the server does not serve")
        greeting = (self.folder / "tigstock" / "client.toml").read_text()
        self.owner = next(line.split('"')[1] for line in greeting.splitlines() if line.startswith("key"))
        return self

    def __exit__(self, *_):
        self.process.kill()
        self.process.wait()

    def _start(self, *arguments, **streams):
        command = [self.program, *map(str, arguments)]
        streams = {"stdout": subprocess.DEVNULL, **streams}
        return subprocess.Popen(command, env=self.environment, text=True, **streams)

    def _copy_of_demo(self, database):
        """The demo asks for no keys, so its shop is copied while it stands."""
        demo = self._start("demo", stdout=subprocess.PIPE)
        try:
            if not any("http://" in line for line in demo.stdout):
                raise RuntimeError("the demo does not serve")
            (source,) = self.folder.glob("*/demo.db")
            if self._start("backup", database, "--database", source).wait() != 0:
                raise RuntimeError("the shop of the demo cannot be copied")
        finally:
            demo.terminate()
            demo.stdout.read()
            demo.wait()

    def ask(self, path, body=None, **headers):
        """The body of an answer; a problem is an error that quotes it."""
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        headers.setdefault("Authorization", "Bearer " + self.owner)
        request = urllib.request.Request(self.url + path, data=body, headers=headers)
        try:
            with self.opener.open(request, timeout=60) as answer:
                return answer.read()
        except urllib.error.HTTPError as error:
            raise RuntimeError(f"{path}: {error.code} {error.read().decode()}") from error

    def told(self, path):
        """An answer that is JSON."""
        return json.loads(self.ask(path))

    def post(self, path, new, **headers):
        """What was made."""
        body = json.dumps(new).encode()
        return json.loads(self.ask(path, body, Content_Type="application/json", **headers))
