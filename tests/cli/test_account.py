"""`setwright account`, and sharing the site: nobody comes in without an account."""

from __future__ import annotations

import http.cookiejar
import json
import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest

from setwright.workbench.hosts import is_own, names_of, shown_host

CAST = Path(__file__).parent.parent / "cast"
RUN = [sys.executable, "-c", "from setwright.cli import main; main()"]
PASSWORD = "rivet brass walnut"


@pytest.fixture
def run(tmp_path: Path):
    """Runs a command on records of its own; gives its exit status, and what it printed."""
    kept = {
        name: value for name, value in os.environ.items() if not name.startswith(("SETWRIGHT", "DJANGO", "DATABASE"))
    }

    def go(*arguments: str, given: str = "", **settings: str) -> tuple[int, str, str]:
        done = subprocess.run(
            [*RUN, *arguments],
            env={**kept, "SETWRIGHT_DATA": str(tmp_path / "data"), **settings},
            input=given,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        return done.returncode, done.stdout, done.stderr

    go.environment = {**kept, "SETWRIGHT_DATA": str(tmp_path / "data"), "SETWRIGHT_PATIENCE": "120"}
    return go


SEVERAL = """
import contextlib, io, json, sys
from setwright.cli import main
told = []
for words, given in json.load(sys.stdin):
    sys.argv, sys.stdin = ["setwright", *words.split()], io.StringIO(given)
    with contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(io.StringIO()) as err:
        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code or 0
    told.append((code, out.getvalue(), err.getvalue()))
print(json.dumps(told))
"""
"""Commands given on standard input, one after another in one process, because each start takes two seconds."""


def test_accounts_from_the_command_line(run) -> None:
    word = f"{PASSWORD}\n"
    wanted = [
        ("account add ada --owner", word, (0, "ada: owner\n", "")),
        ("account add bo", word, (0, "bo: reader\n", "")),
        ("account role bo contributor", "", (0, "bo: contributor\n", "")),
        ("account role bo none --family heron-6", "", (1, "", 'There is no family "heron-6".\n')),
        ("account list", "", (0, "ada: owner\nbo: contributor\n", "")),
        ("account password bo", "another long word\n", (0, "bo: the new password holds\n", "")),
        ("account remove bo", "", (0, "bo: removed\n", "")),
        ("account remove ada", "", (1, "", '"ada" is the only owner. Make another owner first.\n')),
        ("account remove cy", "", (1, "", 'There is no account "cy".\n')),
    ]
    done = subprocess.run(
        [sys.executable, "-c", SEVERAL],
        env=run.environment,
        input=json.dumps([(words, given) for words, given, _ in wanted]),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    found = dict(zip((words for words, _, _ in wanted), map(tuple, json.loads(done.stdout)), strict=True))
    assert found == {words: told for words, _, told in wanted}


@pytest.mark.parametrize(
    ("arguments", "given", "told"),
    [
        (["add", "ada"], "short\n", "too short"),
        (["add", "ada"], "", "too short"),
        (["add", "two words"], PASSWORD, "without spaces"),
        (["add", "you"], PASSWORD, "taken"),
    ],
)
def test_what_cannot_be_is_told(run, arguments: list[str], given: str, told: str) -> None:
    code, out, err = run("account", *arguments, given=given)
    assert (code, out) == (1, "")
    assert told in err
    assert "Traceback" not in err


def test_sharing_without_an_owner_says_how_to_make_one(run) -> None:
    code, out, err = run("serve", "--share", "--port", "0")
    assert (code, out) == (1, "")
    assert "setwright account add NAME --owner" in err


def test_other_addresses_need_accounts(run) -> None:
    code, _, err = run("serve", "--host", "0.0.0.0", "--port", "0")
    assert code == 1
    assert "Add --share" in err


def test_an_address_that_is_not_here_is_told(run) -> None:
    run("account", "add", "ada", "--owner", given=PASSWORD)
    code, _, err = run("serve", "--share", "--host", "192.0.2.77", "--port", "0")
    assert (code, "192.0.2.77 is no address of this machine" in err) == (1, True)


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *ignored: object) -> None:
        return None


def test_a_shared_site_asks_for_an_account(run) -> None:
    run("account", "add", "ada", "--owner", given=PASSWORD)
    process = subprocess.Popen(
        [*RUN, "serve", "--share", "--host", "127.0.0.1", "--port", "0", str(CAST / "heron.toml")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=run.environment,
    )
    try:
        address = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline()).group()
        cookies = http.cookiejar.CookieJar()
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(cookies))
        page = browser.open(address + "families/", timeout=30).read().decode()
        assert "Log in" in page
        assert "heron" not in page.lower()
        with pytest.raises(urllib.error.HTTPError) as caught:
            urllib.request.build_opener(NoRedirect).open(address + "families/heron-6/family.toml", timeout=30)
        assert caught.value.code == 302
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page).group(1)
        form = {"csrfmiddlewaretoken": token, "name": "ada", "password": PASSWORD, "next": "/families/"}
        answer = browser.open(address + "accounts/log-in/", urllib.parse.urlencode(form).encode(), timeout=30)
        assert "heron-6" in answer.read().decode()
        process.send_signal(signal.SIGTERM)
        _, err = process.communicate(timeout=30)
        assert process.returncode == 0
        assert "travel unencrypted" in err
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
        process.stderr.close()


def test_which_addresses_are_this_machine_s_own() -> None:
    assert [is_own(host) for host in ("127.0.0.1", "::1", "localhost", "0.0.0.0", "192.0.2.1", "radio.local")] == [
        True,
        True,
        True,
        False,
        False,
        False,
    ]
    assert names_of("192.0.2.1") == ["127.0.0.1", "192.0.2.1", "[::1]", "localhost"]
    assert {"127.0.0.1", "localhost"} < set(names_of("0.0.0.0"))
    assert (shown_host("::1"), shown_host("192.0.2.1")) == ("[::1]", "192.0.2.1")
    assert shown_host("0.0.0.0") != "0.0.0.0"
