"""What is handed on about a pasted block: figures with places, questions, the table to take."""

from dataclasses import dataclass

from lofting.offsets.pasted_layout import Cells, Meaning
from lofting.offsets.table import Conventions, TypedTable


@dataclass(frozen=True)
class PasteQuestion:
    """Something that can be understood in more than one way.

    Attributes:
        key: what to answer under.
        text: the question in a sentence.
        choices: the answers to choose from; none where the block cannot be taken at all.
    """

    key: str
    text: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class PastedFigure:
    """One figure: where it stood in the block, as pasted, as it will stand in the table, what it is
    in mm on the boat's axes (NaN where unreadable), and the cell it goes to."""

    row: int
    column: int
    pasted: str
    text: str
    value: float
    line: str
    point: str
    coordinate: str


@dataclass(frozen=True)
class PasteReading:
    """How a pasted block was understood.

    Attributes:
        cells: the block, rows of one length.
        separator: what parts its cells, in a word.
        columns, rows: what each column and row stands for.
        figures: every figure with its place.
        questions: what must be answered first.
        notes: what was understood or mended on the way, in sentences.
        table: the table with the block taken in; None while a question stands.
        conventions: how the table is then to be read, where its headings said otherwise than the
            plan's settings and the builder chose the headings; None where nothing changes.
    """

    cells: Cells
    separator: str
    columns: tuple[Meaning, ...] = ()
    rows: tuple[Meaning, ...] = ()
    figures: tuple[PastedFigure, ...] = ()
    questions: tuple[PasteQuestion, ...] = ()
    notes: tuple[str, ...] = ()
    table: TypedTable | None = None
    conventions: Conventions | None = None
