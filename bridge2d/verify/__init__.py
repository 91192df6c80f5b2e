"""The published cases: what they are, what the program makes of them, and what it made of them when it was released.

Beside the flow: detail files of details/validation -> the whole chain -> **rows** of ours beside theirs. Pages are made
of them by `report.verification_pages`; the command is `verify_command`.
"""

from bridge2d.verify.stored import StoredRow, StoredRows, stored_rows

__all__ = ["StoredRow", "StoredRows", "stored_rows"]
