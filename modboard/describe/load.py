"""Run a person's design file and hand over the one design in it."""

from __future__ import annotations

import inspect
import re
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import modboard
from modboard.describe.cavity import Cavity
from modboard.describe.design import Design
from modboard.describe.measures import suggestion
from modboard.describe.rules import Rules
from modboard.errors import CallSite, DesignError, ModboardError

FAVOURITE = "board"  # the variable that wins where a file makes several designs
_CLASSES = {"Design": Design, "Cavity": Cavity, "Rules": Rules}
_WRONG_WORD = re.compile(r"(?:(\w+)\.)?(\w+)\(\) got an unexpected keyword argument '(\w+)'")
_NOT_SAID = re.compile(r"(?:\w+\.)?(\w+)\(\) missing \d+ required (?:positional|keyword-only) arguments?: (.+)")
_TOO_MANY = re.compile(r"(?:\w+\.)?(\w+)\(\) takes (?:from )?[\w ]+ positional arguments? but")
_SYNTAX_CURES = {  # how CPython 3.11's messages begin
    "unterminated string": "a text lacks its closing quote",
    "'": "add the bracket that closes it, or take away the one too many",
    "closing parenthesis": "every bracket needs its partner of the same kind",
    "unmatched": "take the bracket away, or add the one that opens it",
    "positional argument follows": "numbers have a decimal point, 19.5 and not 19,5; what has a name= comes last",
    "invalid character": "use the straight quotes and plain signs of a text editor, not those of a word processor",
    "invalid syntax. Perhaps you forgot a comma": "put a comma between two things in brackets",
    "unexpected indent": "begin the line at the left margin",
    "invalid decimal literal": "write numbers without their unit, and names that begin with a digit in quotes",
}
_NO_SUCH_EXPORT = re.compile(r"cannot import name '(\w+)' from 'modboard'")


def load(path: str | Path) -> Design:
    """Run the design file at `path` and return its design: the variable ``board``, or the only one there is.

    The file's own folder can be imported from while it runs.  Raises DesignError, in one line with the place, the
    cause and the cure, for whatever goes wrong in the file, ModboardError if there is no such file.
    """
    return _the_design(*_run(path))


def load_room(path: str | Path) -> Cavity | None:
    """Run a file that describes a room only, and return its cavity; None if it makes a design, which has its own.

    Raises as `load` does, and DesignError if there is neither or more than one room.
    """
    module, file = _run(path)
    if any(isinstance(value, Design) for value in vars(module).values()):
        return None
    rooms = {id(value): value for value in vars(module).values() if isinstance(value, Cavity)}
    if len(rooms) != 1:
        many = "several rooms" if rooms else "neither a design nor a room"
        raise DesignError(
            f"{many} in this file; describe one, for example room = Cavity.rectangle(57, 31)", CallSite(str(file), 1)
        )
    return next(iter(rooms.values()))


def _run(path: str | Path) -> tuple[ModuleType, Path]:
    """Run a person's file; return its module and its full path."""
    file = Path(path)
    source = _read(file)
    full = file.resolve()
    module = ModuleType(f"modboard_design_{full.stem}")
    module.__file__ = str(full)
    with _folder_on_path(full.parent, module):
        try:
            exec(compile(source, str(full), "exec"), module.__dict__)
        except DesignError:
            raise
        except SyntaxError as error:
            raise DesignError(f"Python can't read this line: {_misspelt(error)}", _syntax_site(error, full)) from error
        except ModboardError as error:
            raise DesignError(str(error), _site(error, full)) from error
        except SystemExit as error:
            raise DesignError(
                "the file ends the program; a design file only describes a board", _site(error, full)
            ) from error
        except Exception as error:
            raise DesignError(_cause(error, module), _site(error, full)) from error
    return module, full


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except IsADirectoryError:
        raise ModboardError(f"{file} is a folder; name a design file in it") from None
    except FileNotFoundError:
        here = file.parent if str(file.parent) else Path()
        names = sorted(p.name for p in here.glob("*.py")) if here.is_dir() else []
        if not here.is_dir():
            raise ModboardError(f"there is no folder {here}, so no design file {file.name} in it") from None
        hint = suggestion(file.name, names) if names else f"; {here.resolve()} has no Python files"
        raise ModboardError(f"there is no file {file}{hint}") from None
    except OSError as error:
        raise ModboardError(f"can't read {file}: {error.strerror}") from None


@contextmanager
def _folder_on_path(folder: Path, module: ModuleType) -> Iterator[None]:
    """Let the file import its neighbours, and forget them afterwards so that the next design gets its own."""
    before = set(sys.modules)
    sys.path.insert(0, str(folder))
    sys.modules[module.__name__] = module
    try:
        yield
    finally:
        sys.path.remove(str(folder))
        for name in set(sys.modules) - before:
            home = getattr(sys.modules[name], "__file__", None)
            if home and Path(home).parent == folder:
                del sys.modules[name]


def _the_design(module: ModuleType, file: Path) -> Design:
    site = CallSite(str(file), 1)
    found = {name: value for name, value in vars(module).items() if isinstance(value, Design)}
    if FAVOURITE in found:
        return found[FAVOURITE]
    designs = {id(design): design for design in found.values()}
    if not designs:
        raise DesignError('no design in this file; make one with board = Design("name", ...)', site)
    if len(designs) > 1:
        names = ", ".join(found)
        raise DesignError(f"several designs in this file ({names}); call the one to be made {FAVOURITE}", site)
    return next(iter(designs.values()))


def _syntax_site(error: SyntaxError, file: Path) -> CallSite:
    return CallSite(error.filename or str(file), error.lineno or 1)


def _site(error: BaseException, file: Path) -> CallSite:
    """Return the last line of the user's own files that the error passed through."""
    lines = [f for f in traceback.extract_tb(error.__traceback__) if Path(f.filename).parent == file.parent]
    return CallSite(lines[-1].filename, lines[-1].lineno or 1) if lines else CallSite(str(file), 1)


def _misspelt(error: SyntaxError) -> str:
    """Return what Python says of a line it can't read, with the cure of what beginners do most."""
    said = error.msg
    cures = (cure for start, cure in _SYNTAX_CURES.items() if said.startswith(start))
    return f"{said}; {next(cures, 'look at it, and at the line before it, for a bracket, comma or quote')}"


def _cause(error: Exception, module: ModuleType) -> str:
    """Return what went wrong in one line, with the nearest right name where a name was wrong."""
    said = " ".join(str(error).split())
    if isinstance(error, NameError) and error.name:
        if error.name in modboard.__all__:
            return f'the name "{error.name}" is not imported; put it into the line "from modboard import ..."'
        public = (n for n in modboard.__all__ if not n.startswith("_") and not n.endswith("Error"))
        names = [*public, *(n for n in vars(module) if not n.startswith("_"))]
        return f'the name "{error.name}" means nothing here{suggestion(error.name, names, most=0)}'
    if isinstance(error, AttributeError) and error.name and not isinstance(error.obj, ModuleType):
        kind = error.obj.__name__ if isinstance(error.obj, type) else type(error.obj).__name__
        names = [n for n in dir(error.obj) if not n.startswith("_")]
        return f'a {kind} has no "{error.name}"{suggestion(error.name, names, most=0)}'
    wrong = _NO_SUCH_EXPORT.search(said)
    if wrong:
        return f'modboard has no "{wrong[1]}"{suggestion(wrong[1], list(modboard.__all__), most=0)}'
    wrong = _WRONG_WORD.search(said)
    if wrong:
        names, others = _keywords(wrong[1] or "", wrong[2]), _takers(wrong[1] or "", wrong[3])
        if others:
            return f'{wrong[2]}() takes no "{wrong[3]}="; {" and ".join(others)} do{"es" * (len(others) == 1)}'
        return f'{wrong[2]}() takes no "{wrong[3]}="{suggestion(wrong[3], names, most=0)}'
    wrong = _NOT_SAID.search(said)
    if wrong:
        lacks = " and ".join(f"{name}=" for name in re.findall(r"'(\w+)'", wrong[2]))
        return f"{wrong[1]}() needs {lacks} as well"
    wrong = _TOO_MANY.search(said)
    if wrong:
        return f"{wrong[1]}() is given too many values without a name; name them, as in volts=5 or at=(10, 5)"
    return f"{type(error).__name__}: {said}" if said else type(error).__name__


def _takers(owner: str, word: str) -> list[str]:
    """Return the methods of a class that take a keyword, as calls."""
    methods = [name for name in vars(_CLASSES.get(owner, object)) if not name.startswith("_")]
    return [f"{name}()" for name in methods if word in _keywords(owner, name)]


def _keywords(owner: str, function: str) -> list[str]:
    method = getattr(_CLASSES.get(owner), function, None)
    return [p for p in inspect.signature(method).parameters if p != "self"] if callable(method) else []
