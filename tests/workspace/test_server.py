"""``labkit start`` serves the learner's folder: to this machine only, behind a token, asking no other host."""

import html
import json
import socket
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, suppress
from http.client import HTTPException
from pathlib import Path

import psutil
import pytest
from jupyter_client.blocking import BlockingKernelClient

from labkit.workspace.server import WORDS


def _get(address: str) -> bytes:
    with urllib.request.urlopen(address, timeout=300) as answer:
        return answer.read()


def _wait_until(there: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 300
    while not there():
        assert time.monotonic() < deadline
        time.sleep(0.05)


@pytest.fixture(scope="module")
def kit(tmp_path_factory, start_kit):
    """Run one ``labkit start`` for the tests of this file; the last of them stops it."""
    with start_kit(tmp_path_factory.mktemp("served")) as running:
        yield running


def test_it_says_where_it_runs(kit) -> None:
    """Plain words: the folder, what is new in it, the address of the first lesson, and how to stop it."""
    lesson = min(path.name for path in kit.folder.glob("notebooks/*.ipynb"))
    assert kit.said[0] == f"Your folder: {kit.folder}"
    assert kit.said[1].startswith("New in it: ")
    assert kit.address == f"{kit.server}/lab/tree/notebooks/{lesson}?token={kit.token}"
    assert kit.said[-1] == "To stop JupyterLab, press Ctrl-C here."


def test_nobody_gets_in_without_the_token(kit) -> None:
    """The address with its token shows the learner's folder and nothing above it; without it all is refused."""
    assert len(kit.token) >= 32
    for page in ("api/contents", "api/contents/notebooks", "api/kernels"):
        with pytest.raises(urllib.error.HTTPError, match="403"):
            _get(f"{kit.server}/{page}")

    listing = json.loads(_get(f"{kit.server}/api/contents?token={kit.token}"))
    assert {entry["name"] for entry in listing["content"]} == {p.name for p in kit.folder.glob("[!.]*")}


def test_it_listens_to_this_machine_only(kit) -> None:
    """The port is taken on the loopback address and free on every other address of this machine."""
    port = int(kit.server.rpartition(":")[2])
    with pytest.raises(OSError, match="in use"), socket.socket() as loopback:
        loopback.bind(("127.0.0.1", port))
    with socket.socket() as other:
        other.bind(("127.0.0.2", port))  # refused if it listened to all addresses


def test_it_asks_no_other_host_for_news_or_updates(kit) -> None:
    """News, the check for a newer JupyterLab and the list of extensions are off."""
    page = _get(kit.address).decode()
    config = json.loads(page.partition('id="jupyter-config-data"')[2].partition(">")[2].partition("</script>")[0])

    assert config["news"] == {"disabled": True}
    assert config["extensionManager"]["can_install"] is False
    assert json.loads(_get(f"{kit.server}/lab/api/update?token={kit.token}"))["notification"] is None


def test_a_second_start_has_a_port_of_its_own_and_opens_a_browser(kit, tmp_path, start_kit) -> None:
    """Two folders can be open at once, each for its own token; the browser is sent to the first lesson with it."""
    program, opened = tmp_path / "browser", tmp_path / "opened"
    program.write_text(f'#!/bin/sh\necho "$1" > {opened}.part && mv {opened}.part {opened}\n')
    program.chmod(0o755)
    with start_kit(tmp_path, browser=program) as second:
        assert second.server != kit.server
        with pytest.raises(urllib.error.HTTPError, match="403"):
            _get(f"{second.server}/api/kernels?token={kit.token}")
        assert _get(f"{second.server}/api/kernels?token={second.token}") == b"[]"

        _wait_until(opened.exists)
        page = Path(urllib.request.url2pathname(opened.read_text().strip().removeprefix("file://")))
        assert second.address in html.unescape(page.read_text())


def test_what_goes_wrong_in_jupyter_is_in_a_file(kit) -> None:
    """An error of the server, here of a kernel that is not there, is kept in the folder; the terminal stays clean."""
    wanted = json.dumps({"name": "no-such-kernel"}).encode()
    request = urllib.request.Request(f"{kit.server}/api/kernels?token={kit.token}", data=wanted, method="POST")
    with pytest.raises(urllib.error.HTTPError, match="50"):
        urllib.request.urlopen(request, timeout=300)

    _wait_until(lambda: "no-such-kernel" in (kit.folder / WORDS).read_text())
    assert kit.errors.read_text() == ""


def _ask_for_a_kernel(kit) -> None:
    request = urllib.request.Request(f"{kit.server}/api/kernels?token={kit.token}", method="POST")
    with suppress(OSError, HTTPException):  # it ends before it can answer
        urllib.request.urlopen(request, timeout=300).close()


def test_many_start_together_and_end_in_the_midst_of_a_start(tmp_path, start_kit) -> None:
    """Of four starts at one moment each keeps a port of its own; each ends on Ctrl-C though a kernel just starts."""
    homes = [tmp_path / str(number) for number in range(4)]
    with ExitStack() as running, ThreadPoolExecutor(len(homes)) as pool:
        for home in homes:
            home.mkdir()
        kits = list(pool.map(lambda home: running.enter_context(start_kit(home)), homes))
        assert len({kit.server for kit in kits}) == len(homes)
        for kit in kits:
            assert _get(f"{kit.server}/api/kernels?token={kit.token}") == b"[]"

        for kit in kits:
            pool.submit(_ask_for_a_kernel, kit)
            assert kit.stop() == 0
            assert kit.errors.read_text() == ""


def test_ctrl_c_ends_it_cleanly(kit) -> None:
    """One Ctrl-C stops server and kernels in the midst of a cell: a last word, no error text, exit status 0.

    What the kernel itself writes, and each complaint of being stopped, is in a file of the folder.
    """
    request = urllib.request.Request(f"{kit.server}/api/kernels?token={kit.token}", method="POST")
    with urllib.request.urlopen(request, timeout=300) as answer:
        kernel = json.load(answer)["id"]
    client = BlockingKernelClient(connection_file=str(kit.folder.parent / f"jupyter-runtime/kernel-{kernel}.json"))
    client.load_connection_file()
    client.start_channels(stdin=False, hb=False, control=False)
    client.kernel_info(reply=True, timeout=600)
    words = kit.folder / WORDS
    client.execute("import os, time\nos.write(2, b'said beside the notebook')\nwhile True: time.sleep(0.01)")
    _wait_until(lambda: "said beside the notebook" in words.read_text())
    client.stop_channels()
    children = psutil.Process(kit.process.pid).children(recursive=True)
    assert children

    assert kit.stop() == 0
    assert kit.said[-1] == f"JupyterLab has stopped. Your files are in {kit.folder}"
    assert kit.errors.read_text() == ""
    assert psutil.wait_procs(children, timeout=60)[1] == []
