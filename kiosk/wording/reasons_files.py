"""The rules that files must keep, as phrases: "must be a finite number"."""

from collections.abc import Callable, Mapping

Say = Callable[..., str]

RULES: Mapping[str, Callable[[Say], str]] = {
    "not_a_message_catalogue": lambda say: say("must be a message catalogue"),
    "must_keep_the_placeholders": lambda say: say("must keep the placeholders of the message"),
    "must_be_a_known_status": lambda say: say("must be a known status"),
}
