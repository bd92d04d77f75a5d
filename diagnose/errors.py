"""What can go wrong, sorted by whose fault it is.

::

    PullOnceError            known: one sentence and a next step, exit status 1
      CaseFileError          a case file that can't be read or written
      ContradictionError     answers that no set of causes can explain
      TooWideError           too many answers that hang together
      UnknownIdError         something was named that the base does not hold
      ReadingError           a reading that is none, or not plausible
      SheetError             a figure of the kit's sheet that can't be
      FigureError            a release system that no clutch can have
      RunoutError            dial readings that can't be used
      ClockError             a text that is no clock position
      BoltError              an unknown thread or grade
      FluidError             a class of fluid or a boiling point that can't be
      ForkCheckError         readings that can't be held against the kit's figures
      HandbookError          a place where the handbook can't be written
      ReportError            a place where a report can't be written
      StoreError             something the store of cases refused or could not do
        ServerLostError      its server does not answer
      ExerciseError          a practice exercise that can't be drawn, read or gone on with
      CalculatorError        something typed that a calculator can't use
        MissingError         something left out that it can't do without

The first four are of this module; the others stand where they are raised, in `diagnose.gauge`,
`diagnose.kit_sheet`, `diagnose.handbook`, `diagnose.report`, `diagnose.records`,
`diagnose.practice`, `diagnose.physics` and `diagnose.calculators`. Anything else that escapes is a
bug of the program (exit status 3). What is wrong with a knowledge folder comes as
`knowledge.load.KnowledgeError`, with its list of problems.
"""


class PullOnceError(Exception):
    """A known error.

    Parameters
    ----------
    sentence : str
        What happened, and that nothing is lost where that is so.
    next_step : str
        What to do about it.
    """

    def __init__(self, sentence: str, next_step: str = "") -> None:
        super().__init__(sentence, next_step)
        self.sentence = sentence
        self.next_step = next_step

    def __str__(self) -> str:
        """Give the sentence and the next step in one line."""
        return f"{self.sentence} {self.next_step}".strip()


class CaseFileError(PullOnceError):
    """A case file can't be read or written."""


class ContradictionError(PullOnceError):
    """No set of causes can bring about all the answers."""


class TooWideError(PullOnceError):
    """More positive or uncertain findings hang together than can be worked out.

    Parameters
    ----------
    width : int
        How many would be open at a time.
    """

    def __init__(self, width: int) -> None:
        super().__init__(
            f"{width} findings hang together too closely to be worked out.",
            "Take back answers that were not sure.",
        )
        self.width = width

    def __reduce__(self) -> tuple[type["TooWideError"], tuple[int]]:
        """Cross a process whole."""
        return TooWideError, (self.width,)


class UnknownIdError(PullOnceError):
    """An id was named that the knowledge base does not hold."""
