"""The translator's way: from the messages of the source to catalogues that can be trusted.

    extraction -> template (locales/kiosk.pot) -> merging (locales/TAG/.../kiosk.po), and by way of a
    spreadsheet where a translator wants one -> checking -> adaptation

A catalogue keeps its adaptation record in its header (ITC guidelines for translating and adapting tests,
second edition, 2017): who translated forward and back, reviewed and piloted, when, and from which source.
"""
