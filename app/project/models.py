"""What every model of the project document has in common."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Positive = Annotated[float, Field(gt=0)]
Thickness = Annotated[float, Field(gt=0, le=100)]
"""Of sheet material, mm; a tenth of a metre is thicker than any that is bent or sawn here."""
NotNegative = Annotated[float, Field(ge=0)]
Point = tuple[float, float, float]


class Model(BaseModel):
    """Frozen, strict about unknown names, so that a slip in a hand-edited file is found,
    and about numbers that are none."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
