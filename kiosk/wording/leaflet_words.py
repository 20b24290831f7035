"""The person's leaflet in words: what was done, who looks at it, what it cannot say, what a person may ask.

In the language the person was instructed in. Nothing of the person stands in it but the day of their visit
and the tag of their page: no code, no score, no result. Decision page-9.
"""

from dataclasses import dataclass
from datetime import date

from kiosk.i18n.language import Language


@dataclass(frozen=True)
class LeafletWords:
    """Everything the leaflet shows. note: of words that nobody has checked, empty where somebody has."""

    title: str
    place: str
    day: str
    paragraphs: tuple[str, ...]
    contact: str
    tag_label: str
    page_tag: str
    note: str
    language: str
    script: str
    direction: str


def leaflet_words(day: date, place: str, page_tag: str, language: Language, rights: str = "") -> LeafletWords:
    """The leaflet of a visit on a day; rights: the site's own last sentence, empty = the usual one."""
    say = language.say
    return LeafletWords(
        title=say("About your hand-following test."),
        place=place,
        day=language.date(day),
        paragraphs=(*_told(language), rights or usual_rights(language)),
        contact=say("Contact"),
        tag_label=say("Page tag"),
        page_tag=page_tag,
        note="" if language.status in ("approved", "source") else say(
            "These words have not been checked by a second translator."),
        language=language.tag,
        script=language.script,
        direction=language.direction,
    )


def usual_rights(language: Language) -> str:
    """What a person may ask for, where the site says nothing else."""
    return language.say(
        "You can ask to see what was kept about you, to have it put right, or to have it removed.")


def _told(language: Language) -> tuple[str, ...]:
    say = language.say
    return (
        say("Today you followed a moving disc with your finger. The tablet measured how close your finger "
            "stayed to the disc, and how quickly it followed."),
        say("Your results will be looked at by the person who saw you today, together with other things "
            "they know about you."),
        say("This was not an exam. Many healthy people have one or two low scores. Scores can be lower when "
            "you are tired, in pain, cold, worried, or new to tablets."),
        say("The results cannot say whether you have an illness. Nothing should be changed in your "
            "medicines because of this page."),
        say("Please tell staff if your hand, arm, neck or eyes hurt, or if anything was hard to see or to "
            "understand."),
    )
