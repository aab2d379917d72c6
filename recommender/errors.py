"""The tree of errors that we raise on purpose; a command shows them as one line and exits with 2."""

from __future__ import annotations


class PartdutyError(Exception):
    """Root of every error whose message is meant for the user."""


class InputError(PartdutyError):
    """The user's input is wrong.

    Parameters
    ----------
    field : str
        Name of the field as the user wrote it (``loads[0].force``), or the file.
    problem : str
        The value with its unit and what is wrong with it.
    remedy : str
        What is allowed and what to do next.
    """

    def __init__(self, field: str, problem: str, remedy: str = "") -> None:
        self.field, self.problem, self.remedy = field, problem, remedy
        super().__init__(f"{field}: {problem}" + (f" {remedy}" if remedy else ""))


class DutySheetError(InputError):
    """A duty sheet cannot be read or does not describe a possible duty."""


class UnitError(InputError):
    """A quantity has no unit where one is needed, or one of the wrong kind."""


class OutOfValidityError(InputError):
    """A form lies outside the range in which its formulas hold; no number is given."""


class KnowledgeError(PartdutyError):
    """The knowledge base, or the user's overlay of it, has a fault."""


class StoreError(PartdutyError):
    """The outcome log cannot be read or written."""


class ModelFileError(InputError):
    """A geometry file cannot be read as a model."""


class DatasetError(PartdutyError):
    """A table of measurements is missing or does not fit its description."""
