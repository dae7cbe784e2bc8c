"""What is given to the public face, held against its annotations before anything is done with it.

`checked` goes on a function or a class: what is missing, misspelt, of another kind or not finite is
refused by an `InputError` in the same shape everywhere. `asked` calls what a user wrote. `unusual`
warns of what is possible and mostly a slip.
"""

from ascentopt.arguments.callbacks import asked, is_ours, unit_vector
from ascentopt.arguments.decorator import checked, checked_kinds
from ascentopt.arguments.unusual import unusual
from ascentopt.telling import told

__all__ = ["asked", "checked", "checked_kinds", "is_ours", "told", "unit_vector", "unusual"]
