"""Which panel of a table a visit is read by: its own, or the one a bridging statement carries it over from.

A visit is at home where its input is the table's and its device class has rows; elsewhere it needs a
statement for the measure. A change between visits that are not all at home needs one that carries earlier
visits.
"""

from typing import TYPE_CHECKING

from norms.table.query_context import ByHand, Sitting
from norms.table.table import Table

if TYPE_CHECKING:
    from norms.table.bridging_statement import Statement


def statement_for(table: Table, measure: str, asker: Sitting | ByHand) -> "Statement | None":
    """The statement by which a visit away from home is read, None at home and where there is none."""
    if at_home(table, measure, asker):
        return None
    here = (asker.device_class, asker.input if isinstance(asker, Sitting) else table.input)
    return next((one for one in table.carried_over
                 if (one.device_class, one.input) == here and one.carried(measure)), None)


def at_home(table: Table, measure: str, asker: Sitting | ByHand) -> bool:
    """Whether the table itself is for the input and panel of a visit."""
    if isinstance(asker, Sitting) and asker.input != table.input:
        return False
    classes = {row.device_class for row in table.rows_of_measure.get(measure, ())}
    return asker.device_class is None or asker.device_class in classes


def bridged_to(table: Table, measure: str, asker: Sitting | ByHand) -> str | None:
    """The device class by whose rows a change is read, None where no change is judged."""
    if at_home(table, measure, asker):
        return asker.device_class
    statement = statement_for(table, measure, asker)
    carried = None if statement is None else statement.carried(measure)
    return statement.from_device_class if statement and carried and carried.visits else None


def visits_bridged(table: Table, before: tuple[str, str], after: tuple[str, str]) -> bool:
    """Whether a change of any measure is judged across two (input, device class)."""
    return any(one.visits and {before, after} <= {
        (table.input, statement.from_device_class), (statement.input, statement.device_class)}
        for statement in table.carried_over for one in statement.measures)
