"""What an engine says is in the way, as a code of ours.

Whatever names a connection comes from the server. What its certificate is refused for stands before what else
may be said of the same server (a name may lead to several places, each with an answer of its own).
"""

from typing import Final

OF_FILE: Final = {
    "readonly": "store_read_only", "locked": "store_busy", "full": "store_full",
    "disk I/O": "disk_in_trouble", "malformed": "store_damaged", "not a database": "store_damaged",
    "permission denied": "server_login_refused"}
OF_SERVER: Final = {
    "certificate verify failed": "server_not_vouched_for", "does not match host name": "server_other_name",
    "does not support SSL": "server_speaks_plainly", "authentication failed": "server_login_refused",
    "no pg_hba.conf entry": "server_login_refused", "pg_hba.conf rejects": "server_login_refused",
    "does not exist": "server_login_refused"}


def obstacle(message: str) -> str:
    """The code of what is in the way.

    >>> obstacle("attempt to write a readonly database")
    'store_read_only'
    >>> obstacle('connection to server at "localhost" failed: SSL error: certificate verify failed')
    'server_not_vouched_for'
    >>> obstacle("connection failed: server closed the connection unexpectedly")
    'server_away'
    """
    of_server = "connection" in message
    for words, code in (OF_SERVER if of_server else OF_FILE).items():
        if words in message:
            return code
    return "server_away" if of_server else "store_unreadable"
