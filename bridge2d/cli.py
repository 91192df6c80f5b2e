"""The command line: a thin door over the whole chain.

Every command imports what it needs when it runs, so that a cold start stays quick. Exit status: 0 done; 1 done, and a
requirement fails; 2 the input or the call is wrong, said in one message on standard error.
"""

from __future__ import annotations

import argparse
import gc
import os
import re
import sys
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from bridge2d import __version__
from bridge2d.call_words import processes, whole_number
from bridge2d.compare_command import compare, compare_options
from bridge2d.errors import Bridge2dError, InputError, SectionError, nearest
from bridge2d.find_command import find_options, find_value
from bridge2d.processes import one_thread
from bridge2d.sensitivities import wanted
from bridge2d.solving import MESHERS, TOLERANCE, read_tolerance
from bridge2d.sweep_command import sweep, sweep_options
from bridge2d.targets import refuse_overwriting, writable, write, writing
from bridge2d.units import SI, SYSTEMS
from bridge2d.verify_command import verify, verify_options

if TYPE_CHECKING:
    from bridge2d.beside import Computation
    from bridge2d.detail import Section
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult, SectionResult

DONE, FAILS, WRONG, INTERRUPTED = 0, 1, 2, 130
LOOKED_AT = 100_000
"""So much of a detail file is looked at before it is read [bytes]."""


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints are one message like all others."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the call."""
        raise InputError(
            _plain(message),
            key=self.prog.removeprefix("bridge2d").strip(),
            right=f"`{self.prog} --help` tells how it is called",
        )


def _plain(message: str) -> str:
    """The complaint of argparse as a person would put it."""
    choice = re.fullmatch(r"argument (?:COMMAND|\S+): invalid choice: '(.*)' \(choose from (.*)\)", message)
    if choice:
        known = [word.strip(" '") for word in choice[2].split(",")]
        like = nearest(choice[1], known)
        hint = f"did you mean {like!r}? " if like else ""
        return f"{choice[1][:40]!r} is not known: {hint}known are {', '.join(known)}"
    if message.startswith("unrecognized arguments: "):
        return f"nothing is known of {message.removeprefix('unrecognized arguments: ')[:60]!r}"
    return message


def run() -> NoReturn:
    """The whole life of a process that runs one command; its exit status is the command's."""
    status = main()
    gc.freeze()  # all is done: nothing is looked through once more while the interpreter ends, which takes 0.05 s
    sys.exit(status)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Args:
        argv: the words after the program's name; those of the process unless given.

    Returns:
        The exit status.
    """
    _plain_streams()
    one_thread()
    try:
        arguments = _parser().parse_args(argv)
        status: int = arguments.run(arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:  # the reader of our output has gone, such as `| head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Bridge2dError as error:
        print(f"bridge2d: {_one_line(str(error))}", file=sys.stderr)
        return WRONG
    return status


def _plain_streams() -> None:
    """A screen that lacks a letter shows a substitute; it does not stop the command."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _one_line(message: str) -> str:
    return " ".join(message.split())


def _parser() -> _Parser:
    parser = _Parser(
        prog="bridge2d",
        description="Thermal bridges of old masonry buildings in two dimensions, with guaranteed bounds.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"bridge2d {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    solve = commands.add_parser("solve", help="compute a detail: numbers on the screen", allow_abbrev=False)
    _detail_argument(solve)
    solve.add_argument("--json", action="store_true", help="one JSON object on standard output")
    _units_option(solve)
    _solving_options(solve)
    _sensitivities_option(solve)
    solve.set_defaults(run=_solve)

    report = commands.add_parser("report", help="compute a detail and write the PDF", allow_abbrev=False)
    _detail_argument(report)
    report.add_argument("-o", dest="output", metavar="FILE.pdf", help="the PDF; beside the detail unless given")
    report.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="size of the pages (A4)")
    _units_option(report)
    _solving_options(report)
    _sensitivities_option(report)
    report.set_defaults(run=_report)

    options = commands.add_parser("compare", help="two or more options side by side", allow_abbrev=False)
    compare_options(options)
    _units_option(options)
    _solving_options(options)
    options.set_defaults(run=compare)
    search = commands.add_parser("find", help="the value at which the limits are just met", allow_abbrev=False)
    _detail_argument(search)
    find_options(search)
    _units_option(search, "of bare numbers of the call, and in which everything is shown")
    _tolerance_option(search)
    search.set_defaults(run=find_value)
    many = commands.add_parser("sweep", help="compute many variants into a table", allow_abbrev=False)
    _detail_argument(many)
    sweep_options(many)
    _units_option(many, "of bare numbers of the call, and of the chart; results in the table are in SI")
    _tolerance_option(many)
    many.set_defaults(run=sweep)
    recheck = commands.add_parser(
        "recheck", help="take the input out of a report, compute it again, compare", allow_abbrev=False
    )
    recheck.add_argument("report", metavar="FILE.pdf", help="a report that bridge2d has written")
    recheck.add_argument("--json", action="store_true", help="one JSON object on standard output")
    recheck.set_defaults(run=_recheck)
    proof = commands.add_parser("verify", help="compute every published case, ours beside theirs", allow_abbrev=False)
    verify_options(proof)
    proof.set_defaults(run=verify)
    schedule = commands.add_parser(
        "schedule", help="compute all junctions of a building and bind their reports", allow_abbrev=False
    )
    _schedule_arguments(schedule)
    schedule.set_defaults(run=_schedule)

    local = commands.add_parser("serve", help="a page on this machine for all of this", allow_abbrev=False)
    local.add_argument(
        "folder", metavar="FOLDER", nargs="?", default=".", help="whose details are shown and saved (this one)"
    )
    local.add_argument(
        "--port", metavar="N", type=whole_number("port", 65535), help="of the page's address (8462, or the next free)"
    )
    local.set_defaults(run=_serve)

    draw = commands.add_parser("draw", help="compute a section and write a drawing or its fields", allow_abbrev=False)
    _detail_argument(draw)
    draw.add_argument(
        "-o", dest="output", metavar="FILE", required=True, help="FILE.dxf, FILE.svg, or FILE.vtu for the fields"
    )
    draw.add_argument("--section", metavar="NAME", default="", help="which section, where the detail has several")
    draw.add_argument(
        "--picture", choices=("isotherms", "dimensions"), default="isotherms", help="what an SVG shows (isotherms)"
    )
    _units_option(draw)
    _solving_options(draw)
    draw.set_defaults(run=_draw)

    check = commands.add_parser("check", help="read and check a detail, compute nothing", allow_abbrev=False)
    _detail_argument(check)
    _units_option(check)
    check.set_defaults(run=_check)

    new = commands.add_parser("new", help="write a detail file to begin with", allow_abbrev=False)
    new.add_argument("junction", metavar="JUNCTION", help="name of a junction")
    new.add_argument("file", metavar="FILE", help="the file to be written")
    _units_option(new, "of the file's numbers")
    new.set_defaults(run=_new)

    listing = commands.add_parser("junctions", help="list the junctions, or one's parameters", allow_abbrev=False)
    listing.add_argument("name", metavar="NAME", nargs="?", help="name of a junction")
    listing.add_argument("--schema", action="store_true", help="JSON schema of its detail files, for editors")
    _units_option(listing)
    listing.set_defaults(run=_junctions)

    materials = commands.add_parser("materials", help="list the catalogue of materials", allow_abbrev=False)
    materials.add_argument("word", metavar="WORD", nargs="?", default="", help="part of a name or kind")
    _units_option(materials)
    materials.set_defaults(run=_materials)

    sets = commands.add_parser("requirements", help="list the named sets of limits", allow_abbrev=False)
    sets.add_argument("word", metavar="WORD", nargs="?", default="", help="part of a name, a country or a use")
    _units_option(sets)
    sets.set_defaults(run=_requirements)
    return parser


def _detail_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("detail", metavar="DETAIL", help="a detail file (TOML)")


def _units_option(parser: argparse.ArgumentParser, of_what: str = "in which everything is shown") -> None:
    parser.add_argument("--units", choices=SYSTEMS, help=f"{of_what}: SI or inch-pound")


def _tolerance_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--tolerance",
        metavar="X",
        type=_tolerance,
        default=TOLERANCE,
        help="relative width of the bracket around L2D at which refinement stops (0.001)",
    )


def _solving_options(parser: argparse.ArgumentParser) -> None:
    _tolerance_option(parser)
    parser.add_argument("--mesher", choices=MESHERS, default="auto", help="who makes the mesh")


def _sensitivities_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--sensitivities",
        action="store_true",
        help="what a change of each input does too; a [tolerances] block in the detail asks for it as well",
    )


def _schedule_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("schedule", metavar="SCHEDULE", help="a building file (TOML)")
    parser.add_argument(
        "-o",
        dest="output",
        metavar="FILE.pdf",
        help="the PDF; beside the building file unless given, and none with --json",
    )
    parser.add_argument("--csv", metavar="FILE", help="products and elements, one a row")
    parser.add_argument("--xlsx", metavar="FILE", help="a workbook with formulas")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    parser.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="size of the PDF's pages (A4)")
    _units_option(parser, "in which the screen and the whole PDF are shown")
    parser.add_argument("--jobs", metavar="N", type=processes, help="how many details are computed side by side")
    _tolerance_option(parser)
    parser.add_argument("--no-cache", action="store_true", help="compute every detail anew and keep nothing")


def _tolerance(text: str) -> float:
    try:
        return read_tolerance(text)
    except InputError as error:
        raise argparse.ArgumentTypeError(f"{error.message}; {error.right}") from None


# -- solving -------------------------------------------------------------------------------------------------------


def _loaded_and_begun(arguments: argparse.Namespace) -> tuple[LoadedDetail, Computation]:
    """Read the detail of a call and begin to compute it, the numerics having been loaded beside."""
    from bridge2d.beside import Computation

    computation = Computation(inputs=arguments.sensitivities or _mentions_tolerances(arguments.detail))
    try:
        from bridge2d.detail_file import load
        from bridge2d.variations import GivenInputs

        loaded = load(arguments.detail, geometry=False, shown=arguments.units)
        varied = wanted(loaded, asked=arguments.sensitivities)
        inputs = GivenInputs(loaded.detail, loaded.parameters, loaded.tolerances) if varied else None
        computation.begin(loaded.detail, arguments.tolerance, arguments.mesher, loaded.input_hash, inputs)
    except BaseException:
        computation.close()
        raise
    return loaded, computation


def _mentions_tolerances(path: str) -> bool:
    """Whether a file probably asks for what its result depends on; it says only what is worth loading early."""
    try:
        if not Path(path).is_file():
            return False  # a pipe gives what it has only once
        with Path(path).open("rb") as file:
            return b"tolerances" in file.read(LOOKED_AT)
    except (OSError, ValueError):
        return False  # it is told where the file is read


def _result(loaded: LoadedDetail, computation: Computation) -> DetailResult:
    from bridge2d.detail_file import locate

    try:
        return computation.result()
    except SectionError as error:
        raise locate(error, loaded) from None


def _status(result: DetailResult) -> int:
    return DONE if all(one.met for one in result.requirements) else FAILS


def _solve(arguments: argparse.Namespace) -> int:
    loaded, computation = _loaded_and_begun(arguments)
    from bridge2d.tables import as_json, as_text

    with closing(computation):
        result = replace(_result(loaded, computation), sensitivities=computation.sensitivities())
    if arguments.json:
        import json

        print(json.dumps(as_json(result), allow_nan=False, indent=2))
    else:
        print(as_text(result, loaded.units))
    return _status(result)


def _report(arguments: argparse.Namespace) -> int:
    target = _pdf_path(arguments)
    loaded, computation = _loaded_and_begun(arguments)
    from bridge2d.report import load_parts, prepared, write_report
    from bridge2d.tables import requirement_line

    with closing(computation):
        load_parts()  # while the detail is computed
        result = _result(loaded, computation)
        drawn = prepared(result, loaded, loaded.units, arguments.paper) if computation.goes_on else None
        result = replace(result, sensitivities=computation.sensitivities())
    with writing(target):
        write_report(result, loaded, target, loaded.units, arguments.paper, drawn, shared=True)
    print(f"{target}: written")
    for one in result.requirements:
        if not one.met:
            print(requirement_line(one, loaded.units))
    return _status(result)


def _pdf_path(arguments: argparse.Namespace) -> Path:
    """The PDF's path, refused before anything is computed where it cannot be written."""
    detail = Path(arguments.detail)
    target = Path(arguments.output) if arguments.output else detail.with_suffix(".pdf")
    if target == detail or (target.exists() and detail.exists() and target.samefile(detail)):
        right = "name another file with -o"
        raise InputError("the report would overwrite the detail file", file=str(target), right=right)
    return writable(target, "-o", (".pdf",), "the report is a PDF")


def _recheck(arguments: argparse.Namespace) -> int:
    from bridge2d.recheck import recheck
    from bridge2d.recheck.words import as_json, as_text

    done = recheck(arguments.report)
    if arguments.json:
        import json

        print(json.dumps(as_json(done), allow_nan=False, indent=2))
    else:
        print(as_text(done))
    return DONE if done.agrees else FAILS


def _schedule(arguments: argparse.Namespace) -> int:
    from bridge2d.schedule.command import run  # a door of its own; it writes several files

    return DONE if run(arguments) else FAILS


def _serve(arguments: argparse.Namespace) -> int:
    from bridge2d.web.command import serve

    return serve(arguments)


DRAWINGS = (".dxf", ".svg", ".vtu")
"""What `draw` writes."""


def _draw(arguments: argparse.Namespace) -> int:
    target = _drawing_path(arguments)
    from bridge2d.detail_file import load

    loaded = load(arguments.detail, geometry=False, shown=arguments.units)
    section = _named_section(loaded, arguments.section)
    if loaded.drawn is not None and target.exists() and target.samefile(loaded.drawn.file):
        raise InputError("it would overwrite the section's own drawing", file=str(target), right="name another file")
    from bridge2d.section_results import solve_section

    try:
        result = solve_section(section, arguments.tolerance, arguments.mesher)
    except SectionError as error:
        from bridge2d.detail_file import locate

        error.section = section.name
        raise locate(error, loaded) from None
    write(_drawn(result, target.suffix.lower(), arguments.picture, loaded), target)
    print(f"{target}: written")
    return DONE


def _drawn(result: SectionResult, kind: str, picture: str, loaded: LoadedDetail) -> bytes:
    """The bytes of a drawing of that kind."""
    if kind == ".dxf":
        from bridge2d.drawing.dxf import section_dxf

        return section_dxf(result, loaded.units)
    if kind == ".vtu":
        from bridge2d.field_files import section_vtu

        return section_vtu(result)
    from bridge2d.drawing import section_svg

    return section_svg(result, picture, detail=loaded.detail, shown=loaded.units).encode("utf-8")


def _named_section(loaded: LoadedDetail, name: str) -> Section:
    sections = loaded.detail.sections
    if not name and len(sections) == 1:
        return sections[0]
    found = next((section for section in sections if section.name == name), None)
    if found is None:
        message = f"the detail has no section {name[:60]!r}" if name else f"the detail has {len(sections)} sections"
        right = f"name one of {', '.join(repr(section.name) for section in sections)}"
        raise InputError(message, file=str(loaded.path), key="--section", right=right)
    return found


def _drawing_path(arguments: argparse.Namespace) -> Path:
    """The drawing's path, refused before anything is computed where it cannot be written."""
    target = writable(Path(arguments.output), "-o", DRAWINGS, "the ending does not say what to write")
    refuse_overwriting(target, "-o", [Path(arguments.detail)], "the detail file")
    return target


def _check(arguments: argparse.Namespace) -> int:
    from bridge2d.detail_file import load
    from bridge2d.nomenclature import TEMPERATURE

    loaded = load(arguments.detail, shown=arguments.units)
    detail, shown = loaded.detail, loaded.units
    environments = {e.name: e.temperature for section in detail.sections for e in section.environments}
    regions = sum(len(section.regions) for section in detail.sections)
    facing = ", ".join(
        f"{name} {float(shown.number(TEMPERATURE, temperature)):g} {shown.unit(TEMPERATURE)}"
        for name, temperature in environments.items()
    )
    notes = detail.notes if loaded.drawn is not None else ()
    print(
        f"{arguments.detail}: {detail.title}: {detail.junction}, {_count(len(detail.sections), 'section')}, "
        f"{_count(regions, 'region')}, {_count(len(environments), 'environment')} ({facing}), "
        f"{_count(len(detail.requirements), 'requirement')}; "
        f"{'nothing wrong found' if not notes else _count(len(notes), 'remark') + ' on the drawing'}"
    )
    for note in notes:
        print(f"  {loaded.units.sentence(note)}")
    return DONE


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


# -- junctions and materials ---------------------------------------------------------------------------------------


def _new(arguments: argparse.Namespace) -> int:
    from bridge2d.listings import junction_named, new_file

    junction = junction_named(arguments.junction)
    target = Path(arguments.file)
    text = new_file(junction, arguments.units or SI)
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise InputError("the file exists already", file=str(target), right="choose another name") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is none that a file can have"
        raise InputError(f"the file cannot be written: {reason}", file=str(target)) from None
    print(f"{target}: written; `bridge2d solve {target}` computes it")
    return DONE


def _junctions(arguments: argparse.Namespace) -> int:
    from bridge2d.listings import junction_named, junction_table, parameter_table, schema

    if not arguments.name:
        if arguments.schema:
            raise InputError("--schema needs the name of a junction", key="bridge2d junctions")
        print(junction_table())
    elif arguments.schema:
        import json

        print(json.dumps(schema(junction_named(arguments.name), arguments.units or SI), indent=2))
    else:
        print(parameter_table(junction_named(arguments.name), arguments.units or SI))
    return DONE


def _materials(arguments: argparse.Namespace) -> int:
    from bridge2d.listings import material_table

    print(material_table(arguments.word, arguments.units or SI))
    return DONE


def _requirements(arguments: argparse.Namespace) -> int:
    from bridge2d.listings import requirement_table

    print(requirement_table(arguments.word, arguments.units or SI))
    return DONE


if __name__ == "__main__":
    sys.exit(main())
