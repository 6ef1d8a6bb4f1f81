"""The published JSON Schema of the project file."""

import json

from app.project.document import Project


def schema_text() -> str:
    """The schema (JSON Schema draft 2020-12) as text; `scrieve schema` prints it."""
    schema = Project.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "Scrieveboard project"
    return json.dumps(schema, indent=1, sort_keys=True) + "\n"
