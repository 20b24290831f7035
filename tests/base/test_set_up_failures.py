# ruff: noqa: E501 - lines as pip and apt print them
"""Why set-up failed, in one sentence: from what pip and apt really print (pip 23.0 and 23.2, apt 2.6)."""

import pytest

from kiosk.base.set_up_failures import sentence_of

PIP, APT = ["python", "-m", "pip", "download"], ["apt-get", "install"]
SAID = {
    "no name server": (PIP, """
WARNING: Retrying (Retry(total=0, connect=None, read=None, redirect=None, status=None)) after connection broken by
 'NewConnectionError('<pip._vendor.urllib3.connection.HTTPSConnection object at 0x7f>: Failed to establish a new
 connection: [Errno -3] Temporary failure in name resolution')': /simple/alembic/
ERROR: Could not find a version that satisfies the requirement alembic==1.20.1 (from versions: none)
ERROR: No matching distribution found for alembic==1.20.1
""", "The network does not reach the packages. Connect this machine"),
    "proxy wants a password": (PIP, """
WARNING: Retrying (Retry(total=0, connect=None, read=None, redirect=None, status=None)) after connection broken by
 'ProxyError('Cannot connect to proxy.', OSError('Tunnel connection failed: 407 Proxy Authentication Required'))'
ERROR: No matching distribution found for alembic==1.20.1
""", "The network's proxy refused (407 Proxy Authentication Required)"),
    "proxy that is not there": (PIP, """
WARNING: Retrying (Retry(total=0)) after connection broken by 'ProxyError('Cannot connect to proxy.',
 NewConnectionError('<pip._vendor.urllib3.connection.HTTPSConnection object at 0x7f>: Failed to establish a new
 connection: [Errno 111] Connection refused'))': /simple/alembic/
ERROR: No matching distribution found for alembic==1.20.1
""", "The network's proxy cannot be reached. Correct HTTPS_PROXY"),
    "another file": (PIP, """
ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE. If you have updated the package versions,
please update the hashes. Otherwise, examine the package contents carefully; someone may have tampered with them.
    mako==1.4.3 from file:///srv/Mako-1.4.3-py3-none-any.whl (from -r part.txt (line 1)):
        Expected sha256 0123
             Got        4567
""", "What was fetched is not what was locked (mako), and none of it was installed."),
    "full disk": (PIP, """
ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device
""", "The disk is full. Make room"),
    "another authority": (PIP, """
Could not fetch URL: There was a problem confirming the ssl certificate: HTTPSConnectionPool(port=443): Max retries
exceeded with url: /simple/mako/ (Caused by SSLError(SSLCertVerificationError(1, '[SSL: CERTIFICATE_VERIFY_FAILED]
certificate verify failed: self-signed certificate in certificate chain (_ssl.c:1006)'))) - skipping
ERROR: No matching distribution found for mako==1.4.3
""", "The package server's certificate is not trusted here."),
    "server at fault": (PIP, """
ERROR: HTTP error 503 while getting the index page
ERROR: 503 Server Error: Service Unavailable
""", "The package server answered with an error ("),
    "no such wheel": (PIP, """
ERROR: Could not find a version that satisfies the requirement kivy==2.3.1 (from versions: none)
ERROR: No matching distribution found for kivy==2.3.1
""", "The package index has no kivy==2.3.1 for this Python and this machine."),
    "folder of another": (PIP, """
ERROR: Could not install packages due to an OSError: [Errno 13] Permission denied: '/srv/tree/.venv/lib/x'
Consider using the `--user` option or check the permissions.
""", "Set-up may not write where it has to (/srv/tree/.venv/lib/x)."),
    "apt without a network": (APT, """
Err:1 http: bookworm InRelease
  Temporary failure resolving 'mirror.clinic.example'
W: Some index files failed to download. They have been ignored, or old ones used instead.
E: Unable to locate package libfribidi0
""", "The network does not reach the packages."),
    "apt and its proxy": (APT, """
E: Failed to fetch InRelease  Invalid response from proxy: HTTP/1.1 407 Proxy Authentication Required  [IP: 10.0.0.1 3128]
""", "The network's proxy refused (407 Proxy Authentication Required)"),
    "apt on a full disk": (APT, """
E: You don't have enough free space in /var/cache/apt/archives/.
""", "The disk is full. Make room"),
    "apt without the package": (APT, """
E: Unable to locate package libfribidi0
""", "This system's package servers have no libfribidi0."),
    "apt twice": (APT, """
E: Could not get lock /var/lib/dpkg/lock-frontend. It is held by process 4711 (apt-get)
""", "Another program is installing packages."),
    "apt's server changed on the way": (APT, """
E: Failed to fetch Packages.xz  Hash Sum mismatch
""", "What was fetched is not what was locked, and none of it was installed."),
}  # fmt: skip


@pytest.mark.parametrize("case", SAID)
def test_a_cause_is_told_in_one_sentence_with_what_to_do(case: str) -> None:
    words, said, told = SAID[case]
    sentence = sentence_of(words, 1, said.strip().splitlines())
    assert sentence.startswith(f"Set-up did not finish. {told}")
    assert "\n" not in sentence and "{" not in sentence and "()" not in sentence


def test_what_no_rule_knows_is_told_in_its_own_last_words() -> None:
    told = sentence_of(["/srv/.venv/bin/python", "-m", "pip", "install"], 1, ["first", "", "no such wheel"])
    assert told == "Set-up did not finish. pip said: first / no such wheel"


def test_a_command_that_says_nothing_or_is_killed_is_told_as_that() -> None:
    assert "pip ended with code 2 and said nothing" in sentence_of(PIP, 2, ["", " "])
    assert "apt-get was ended by the system (SIGKILL)" in sentence_of(["/usr/bin/apt-get"], -9, [])
    assert "apt-get said: what" in sentence_of(["sh", "-c", "apt-get update && apt-get install x"], 1, ["what"])
