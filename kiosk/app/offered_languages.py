"""The languages a kiosk offers, each read from its catalogue when it is first asked for."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from kiosk.i18n.language import Language, load_language


class Languages(Mapping[str, Language]):
    """By tag, in the order given."""

    def __init__(self, tags: Sequence[str], load: Callable[[str], Language] = load_language) -> None:
        self._tags, self._load = tuple(tags), load
        self._known: dict[str, Language] = {}

    def __getitem__(self, tag: str) -> Language:
        if tag not in self._tags:
            raise KeyError(tag)
        if tag not in self._known:
            self._known[tag] = self._load(tag)
        return self._known[tag]

    def __iter__(self) -> Iterator[str]:
        return iter(self._tags)

    def __len__(self) -> int:
        return len(self._tags)
