"""What a command of the set-up said as it failed -> one plain sentence with what to do; never "no message".

Its words are pip's, apt's or Python's own, in English. The first rule that matches decides, so what explains
more stands before what follows from it: without a network pip also says that it found no version.
"""

from __future__ import annotations

import re
import signal
from collections.abc import Sequence
from dataclasses import dataclass

AGAIN = "then run the same command again: what has been fetched stays"
LAST_LINES = 3


@dataclass(frozen=True)
class Rule:
    """Words that tell a cause, and the sentence for it; the first named group found is what it names."""

    words: str
    sentence: str

    def applied(self, said: str) -> str | None:
        """The sentence where the words are found: {of} is what they name, {again} how to go on."""
        found = re.search(self.words, said, re.IGNORECASE | re.DOTALL)
        if found is None:
            return None
        named = next((value.strip() for value in found.groupdict().values() if value), "")
        return self.sentence.format(of=named, again=AGAIN).replace(" ()", "")


RULES = (
    Rule(r"No space left on device|Errno 28|don't have enough free space|not enough space",
         "The disk is full. Make room, {again}."),
    Rule(r"DO NOT MATCH THE HASHES.*?\n\s*(?P<name>[A-Za-z0-9._-]+)==\S+|Hash mismatch for (?P<other>\S+)"
         r"|Hash Sum mismatch",
         "What was fetched is not what was locked ({of}), and none of it was installed. Run the same command "
         "again; where it stays so, the package index or a proxy changes files: ask whoever runs it."),
    Rule(r"Tunnel connection failed: (?P<answer>\d+ ?[^'\"\n)]*)|proxy: HTTP/1\.\d (?P<other>\d+ ?[^\[\n]*)"
         r"|(?P<third>407 Proxy Authentication Required)",
         "The network's proxy refused ({of}). Give the address and the password of one that lets this "
         "through (HTTPS_PROXY, or Acquire::http::Proxy for apt-get), {again}."),
    Rule(r"ProxyError|Cannot connect to proxy|Could not resolve proxy|SOCKSHTTPS?Connection",
         "The network's proxy cannot be reached. Correct HTTPS_PROXY (Acquire::http::Proxy for apt-get) or "
         "take it away, {again}."),
    Rule(r"CERTIFICATE_VERIFY_FAILED|certificate verify failed|Certificate verification failed",
         "The package server's certificate is not trusted here. Correct this machine's clock, or name the "
         "certificates of your network (PIP_CERT, update-ca-certificates), {again}."),
    Rule(r"Temporary failure (in name resolution|resolving)|Could not resolve|Name or service not known"
         r"|nodename nor servname|getaddrinfo failed|Network is unreachable|No route to host"
         r"|Failed to establish a new connection|Unable to connect to|Could not connect to|Connection refused"
         r"|timed out|Connection reset|RemoteDisconnected|IncompleteRead|Connection broken|Connection failed",
         "The network does not reach the packages. Connect this machine, or name its proxy (HTTPS_PROXY), "
         "{again}."),
    Rule(r"(?P<answer>(?:40[13]|404|429|5\d\d) (?:Client|Server) Error|HTTP error \d+"
         r"|(?:40[134]|429|5\d\d)  ?[A-Z][A-Za-z ]+ \[IP)",
         "The package server answered with an error ({of}). Wait a while or ask whoever runs it, {again}."),
    Rule(r"No matching distribution found for (?P<name>[^\s;]+)",
         "The package index has no {of} for this Python and this machine. Where it is a copy of the public "
         "index, ask whoever keeps it to complete it, {again}."),
    Rule(r"Unable to locate package (?P<name>\S+)|Package '?(?P<other>\S+?)'? has no installation candidate",
         "This system's package servers have no {of}. Debian 12 has it; elsewhere install what it holds "
         "under the name it bears there, then run the same command again."),
    Rule(r"Could not get lock|is held by process|Unable to acquire the dpkg",
         "Another program is installing packages. Let it end, {again}."),
    Rule(r"(?P<place>[^\s:'\"]*)['\"]?: Permission denied|Permission denied: ['\"](?P<other>[^'\"]+)"
         r"|are you root\?",
         "Set-up may not write where it has to ({of}). Give this user the folder, or run it as the user it "
         "belongs to, {again}."),
)  # fmt: skip


def sentence_of(words: Sequence[str], code: int, lines: Sequence[str]) -> str:
    """Why a command failed and what to do; its last words where no rule knows them."""
    said = "\n".join(lines)
    for rule in RULES:
        if sentence := rule.applied(said):
            return f"Set-up did not finish. {sentence}"
    return f"Set-up did not finish. {_last_words(words, code, lines)}"


def disk_full(place: str) -> str:
    """The sentence for a disk that filled up under set-up itself."""
    return f"Set-up did not finish. The disk of {place} is full. Make room, {AGAIN}."


def _last_words(words: Sequence[str], code: int, lines: Sequence[str]) -> str:
    what = _what(words)
    told = [line.strip() for line in lines if line.strip()][-LAST_LINES:]
    if code < 0:
        by = signal.Signals(-code).name
        return f"{what} was ended by the system ({by}). Close other programs, {AGAIN}."
    if not told:
        return f"{what} ended with code {code} and said nothing. Run the same command again."
    return f"{what} said: {' / '.join(told)}"


def _what(words: Sequence[str]) -> str:
    if words[0] == "sh":
        return words[2].split()[0]
    inner = words[words.index("-m") + 1] if "-m" in words else words[0]
    return inner.rpartition("/")[2]
