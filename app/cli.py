"""The commands, thin: they read, call the pipeline, print and write. `scrieve --help` imports
nothing heavy; every command imports what it needs when it runs."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from math import inf
from os import environ
from typing import TYPE_CHECKING

from lofting.findings import Refused

if TYPE_CHECKING:
    from app.pipeline import Boat
    from app.project.document import Project
    from app.summary import ReadBack
    from lofting.findings import Finding
    from lofting.progress import Progress

COMMANDS = ("check", "build", "ways", "verify", "new", "import", "export", "schema", "words")
GROUPS = ("cutting", "marking", "templates", "book", "stores", "afloat")

GOOD, STOPPED, UNREADABLE, FAULTY = 0, 1, 2, 70
"""70 is what sysexits.h calls a fault inside the program."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status: 0 good, 1 a stop stands, 2 cannot be read."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        if not words or (words[0] not in COMMANDS and not words[0].startswith("-")):
            return _open(words)
        options = _parser().parse_args(words)
        if not hasattr(options, "run"):
            return _open([])
        return int(options.run(options))
    except Refused as refused:
        print(f"{refused.place}: {refused.reason}\n  {refused.remedy}", file=sys.stderr)
        return UNREADABLE
    except KeyboardInterrupt:
        print("\nStopped; nothing half-written was left behind.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return GOOD
    except Exception as fault:
        print(
            f"A fault of the program, not of your project ({type(fault).__name__}: {fault}).\n"
            f"  The report is in {write_report()}: send it together with the project.",
            file=sys.stderr,
        )
        return FAULTY


def write_report() -> str:
    """Write the fault at hand to a file and name it."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", encoding="utf-8", prefix="scrieveboard-fault-", suffix=".txt", delete=False
    ) as file:
        traceback.print_exc(file=file)
    return file.name


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="scrieve",
        description="From a table of offsets to full-size cutting layouts for small plywood boats. "
        "Without a command, or with a project only, the window opens.",
    )
    commands = parser.add_subparsers(metavar="COMMAND")

    check = commands.add_parser("check", help="read a project and print what was noticed")
    check.add_argument("project", help="a project file, or a sample's name")
    check.add_argument("--json", action="store_true", help="print the summary as JSON")
    check.set_defaults(run=_check)

    build = commands.add_parser("build", help="the whole job: papers and cutting files")
    build.add_argument("project", help="a project file, or a sample's name")
    build.add_argument("--out", required=True, metavar="DIR", help="folder to write")
    build.add_argument(
        "--only",
        nargs="+",
        action="extend",
        choices=GROUPS,
        metavar="GROUP",
        help="only: " + ", ".join(GROUPS),
    )
    build.add_argument("--seconds", type=float, help="longest time for laying out the sheets")
    build.add_argument("--seed", type=int, help="another start for the search")
    build.add_argument(
        "--tiles",
        nargs="+",
        action="extend",
        metavar="PART",
        help="only these parts as full-size pages",
    )
    build.add_argument("--paper", help="for full-size pages: A4, Letter, 610 x 914 ...")
    build.add_argument("--roll", type=float, metavar="MM", help="full size on a roll this wide too")
    build.add_argument(
        "--part-sheets", action="store_true", help="a sheet for each part from its own base line"
    )
    build.add_argument(
        "--bed", type=float, metavar="MM", help="longest piece the cutting machine takes"
    )
    build.set_defaults(run=_build)

    ways = commands.add_parser("ways", help="ways of joining and sizes of sheet side by side")
    ways.add_argument("project", help="a project file, or a sample's name")
    ways.add_argument("--json", action="store_true", help="print the table as JSON")
    ways.add_argument("--seconds", type=float, default=4.0, help="longest time for each way")
    ways.add_argument(
        "--rules", action="store_true", help="in place of ways: what giving up each rule saves"
    )
    ways.set_defaults(run=_ways)

    verify = commands.add_parser("verify", help="read a built folder back and compare it")
    verify.add_argument("folder", metavar="DIR")
    verify.set_defaults(run=_verify)

    new = commands.add_parser("new", help="start a project")
    new.add_argument("file", metavar="FILE")
    source = new.add_mutually_exclusive_group()
    source.add_argument("--from", dest="sample", metavar="SAMPLE", help="a copy of a sample")
    source.add_argument("--offsets", metavar="TABLE.csv", help="around a table of offsets")
    new.add_argument("--force", action="store_true", help="replace a file that exists")
    new.set_defaults(run=_new)

    take = commands.add_parser("import", help="put a table of offsets into a project")
    take.add_argument("table", metavar="TABLE.csv")
    take.add_argument("--into", required=True, metavar="FILE")
    take.set_defaults(run=_import)

    export = commands.add_parser("export", help="write a project's offsets as CSV, or a view")
    export.add_argument("project", help="a project file, or a sample's name")
    export.add_argument("--out", metavar="FILE", help="a file; otherwise to the screen")
    export.add_argument(
        "--view",
        help="a drawing as SVG or PDF in place of the offsets; list: says which there are",
    )
    export.add_argument("--paper", default="A4", help="for a view as PDF: A4, Letter, A3 ...")
    export.add_argument("--table", action="store_true", help="stations across, as plans print it")
    export.set_defaults(run=_export)

    schema = commands.add_parser("schema", help="print the JSON Schema of project files")
    schema.set_defaults(run=_schema)

    words = commands.add_parser("words", help="what the words of the trade mean")
    words.add_argument("text", nargs="*", help="only words in which this is found")
    words.set_defaults(run=_words)
    return parser


def _open(words: Sequence[str]) -> int:
    if len(words) > 1:
        raise Refused(
            " ".join(words), "that is no command.", "Commands are: " + ", ".join(COMMANDS) + "."
        )
    if words:
        from pathlib import Path

        from app.project.samples import sample_names

        if not Path(words[0]).exists() and words[0] not in sample_names():
            raise Refused(
                words[0],
                "that is neither a command, a project file nor a sample.",
                f"Commands are: {', '.join(COMMANDS)}. Samples are: {', '.join(sample_names())}.",
            )
    if not has_screen(sys.platform, environ):
        raise Refused(
            "desktop",
            "there is no screen to open the window on.",
            "Work at the machine's own screen, or use a command: " + ", ".join(COMMANDS) + ".",
        )
    try:
        from app.desktop.window import run
    except ImportError as error:
        raise Refused(
            "desktop",
            f"the window cannot open ({error}).",
            "Install the program with its Qt library; all commands work without it.",
        ) from None
    return run(words[0] if words else None)


def has_screen(system: str, settings: Mapping[str, str]) -> bool:
    """Whether a window can open: where screens are named by the environment, one must be."""
    if not system.startswith(("linux", "freebsd")):
        return True
    names = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return any(settings.get(name) for name in names)


def _check(options: argparse.Namespace) -> int:
    from app.pipeline import Pipeline, Stage, standing_stops
    from app.project.samples import load_project
    from app.summary import summary
    from app.together import together_words

    project = load_project(options.project)
    boat = Pipeline().run(project, Stage.AFLOAT, progress=_progress(quiet=options.json))
    if options.json:
        print(json.dumps(summary(boat), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print_findings(boat)
        for line in together_words(boat):
            print(line)
    return STOPPED if standing_stops(boat) else GOOD


def _build(options: argparse.Namespace) -> int:
    from dataclasses import replace

    from app.build import build_all
    from app.pipeline import Pipeline, standing_stops
    from app.project.samples import load_project

    project = load_project(options.project)
    changes: dict[str, float | int] = {}
    if options.seconds is not None:
        changes["seconds"] = _seconds(options.seconds)
    if options.seed is not None:
        changes["seed"] = options.seed
    if changes:
        project = project.model_copy(update={"sheets": project.sheets.model_copy(update=changes)})
    project = _with_marking(project, options)
    progress = _progress()
    boat = Pipeline().run(project, progress=progress.part(0.0, 0.7))
    groups = tuple(options.only) if options.only else GROUPS
    heard: list[Finding] = []
    rows = build_all(
        boat, options.out, groups=groups, progress=progress.part(0.7, 1.0), notice=heard.append
    )
    print_findings(replace(boat, findings=boat.findings + tuple(heard)))
    _print_result(boat, rows, options.out)
    stopped = bool(standing_stops(boat)) or any(not row.good for row in rows)
    return STOPPED if stopped else GOOD


def _seconds(seconds: float) -> float:
    if not 0 < seconds < inf:
        raise Refused("--seconds", f"{seconds:g} is no time.", "Give more than zero.")
    return seconds


def _with_marking(project: Project, options: argparse.Namespace) -> Project:
    """The project with what this run of `build` asks for in papers and files."""
    changes: dict[str, object] = {}
    wanted = (("--roll", "roll_width", options.roll), ("--bed", "bed_length", options.bed))
    for option, name, value in wanted:
        if value is not None:
            if not 0 < value < inf:
                raise Refused(option, f"{value:g} mm is no length.", "Give more than zero.")
            changes[name] = value
    if options.tiles:
        changes["tile_parts"] = tuple(options.tiles)
    if options.paper:
        changes["paper"] = options.paper
    if options.part_sheets:
        changes["part_sheets"] = True
    marking = project.marking.model_copy(update=changes)
    return project.model_copy(update={"marking": marking}) if changes else project


def _ways(options: argparse.Namespace) -> int:
    from app.comparing import parts_of, rules_given_up, ways_of_joining
    from app.project.samples import load_project

    _seconds(options.seconds)
    boat = parts_of(load_project(options.project))
    if boat.parts is None:
        print_findings(boat)
        return STOPPED
    progress = _progress(quiet=options.json)
    if options.rules:
        print(rules_given_up(boat, 5 * options.seconds, as_json=options.json, progress=progress))
    else:
        print(ways_of_joining(boat, options.seconds, as_json=options.json, progress=progress))
    return GOOD


def _verify(options: argparse.Namespace) -> int:
    from app.readback.folder import verify_folder

    rows = verify_folder(options.folder, progress=_progress())
    print_readback(rows)
    return GOOD if rows and all(row.good for row in rows) else STOPPED


def _new(options: argparse.Namespace) -> int:
    from pathlib import Path

    from app.project.document import Project
    from app.project.new import project_from_offsets, table_in_file
    from app.project.samples import load_sample
    from app.project.storage import save

    path = Path(options.file)
    if path.exists() and not options.force:
        raise Refused(
            str(path), "there is such a file already.", "Choose another name, or say --force."
        )
    name = path.stem
    if options.sample:
        project = load_sample(options.sample).model_copy(update={"name": name})
    elif options.offsets:
        typed, conventions = table_in_file(options.offsets)
        project = project_from_offsets(name, typed, conventions)
    else:
        project = Project(name=name)
    save(path, project)
    print(f"Wrote {path}.")
    return GOOD


def _import(options: argparse.Namespace) -> int:
    from app.project.new import table_in_file, with_table
    from app.project.storage import load, save

    project = load(options.into)
    typed, conventions = table_in_file(options.table)
    save(options.into, with_table(project, typed, conventions))
    print(f"Put {len(typed.lines)} lines at {len(typed.stations)} stations into {options.into}.")
    return GOOD


def _export_view(options: argparse.Namespace) -> int:
    from datetime import date
    from pathlib import Path

    from app.build.views import view_names, write_view
    from app.pipeline import Pipeline, Stage
    from app.project.samples import load_project

    nested = options.view == "list" or options.view.startswith("sheet ")
    stage = Stage.MARKING if nested else Stage.PARTS
    boat = Pipeline().run(load_project(options.project), stage, progress=_progress())
    if options.view == "list":
        print("\n".join(view_names(boat)))
        return GOOD
    if not options.out:
        raise Refused("--out", "a view needs a file.", "Say --out NAME.svg or --out NAME.pdf.")
    on = date.today().isoformat()
    write_view(boat, options.view, Path(options.out), on=on, paper=options.paper)
    print(f"Wrote {options.out}.")
    return GOOD


def _export(options: argparse.Namespace) -> int:
    if options.view:
        return _export_view(options)
    from pathlib import Path

    from app.project.conversion import conventions, typed_table
    from app.project.samples import load_project
    from app.project.storage import write_atomically
    from lofting.offsets import write_long_csv, write_traditional

    project = load_project(options.project)
    write = write_traditional if options.table else write_long_csv
    text = write(typed_table(project), conventions(project))
    if options.out:
        write_atomically(Path(options.out), text.encode("utf-8"))
        print(f"Wrote {options.out}.")
    else:
        sys.stdout.write(text)
    return GOOD


def _schema(_options: argparse.Namespace) -> int:
    from app.project.schema import schema_text

    sys.stdout.write(schema_text())
    return GOOD


def _words(options: argparse.Namespace) -> int:
    from app.words import print_words

    print_words(" ".join(options.text))
    return GOOD


def print_findings(boat: Boat) -> None:
    """Print what was noticed, gravest first."""
    accepted = {a.finding: a.reason for a in boat.project.accepted}
    for finding in boat.findings:
        print(_finding_line(finding, accepted.get(finding.key)))
    counts = {
        word: sum(f.severity.value == word for f in boat.findings)
        for word in ("stop", "look", "note")
    }
    said = ", ".join(
        f"{n} to {word}" if word != "note" else counted(n, "note")
        for word, n in counts.items()
        if n
    )
    print(f"{boat.project.name}: {said or 'nothing to remark'}.")


def _finding_line(finding: Finding, reason: str | None) -> str:
    where = ", ".join(f"{k} {v}" for k, v in finding.where.items())
    mark = finding.severity.value.upper()
    text = f"{mark:5} {finding.code} ({where})\n      {finding.message}\n      {finding.remedy}"
    return text + (f"\n      Accepted: {reason}" if reason else "")


def _print_result(boat: Boat, rows: Sequence[ReadBack], out: str) -> None:
    if boat.nest is not None:
        n = boat.nest
        print(
            f"{counted(n.sheets, 'sheet')} in {counted(len(n.blanks), 'blank')} (least possible "
            f"{n.bound.sheets}), {counted(n.joint_count, 'joint')}. "
            f"{n.reached}"
        )
    if boat.work is not None:
        print(boat.work.said(boat.project.working.hours))
    if boat.cost is not None and boat.cost.said:
        print(boat.cost.said)
    print_readback(rows)
    print(f"Wrote {out}.")


def counted(number: int, what: str) -> str:
    """A number of things in words."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def print_readback(rows: Sequence[ReadBack]) -> None:
    """Print the largest difference of every file read back."""
    for row in rows:
        verdict = "good" if row.good else "NOT GOOD"
        print(
            f"{row.file:38} {row.largest_difference:9.4f} mm of {row.tolerance:.4g} mm allowed: "
            f"{verdict}"
        )
        for note in row.notes:
            print(f"      {note}")


def _progress(*, quiet: bool = False) -> Progress:
    """Progress on one line of the terminal; silent when nobody watches."""
    from lofting.progress import SILENT, Progress

    if quiet or not sys.stderr.isatty():
        return SILENT
    tell: Callable[[float, str], None] = _tell
    return Progress(tell)


def _tell(fraction: float, text: str) -> None:
    width = 24
    done = round(width * min(max(fraction, 0.0), 1.0))
    bar = "#" * done + "." * (width - done)
    end = "\n" if fraction >= 1.0 else ""
    sys.stderr.write(f"\r{bar} {text[:48]:48}{end}")
    sys.stderr.flush()


if __name__ == "__main__":
    raise SystemExit(main())
