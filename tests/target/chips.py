"""Builds C programs and runs them: on the host, on a simulated ATmega328P, on simulated Cortex-M chips.

A test program includes "board.h" (beside this file) and has a main; the board's own code is linked in.
main's value ends the run: 0 is good, anything else raises RunFailed. `CHIPS` and `on_every_chip` run one
program everywhere; `host`, `avr`, `arm` and their `run_` partners are the same one by one.
Everything is built under STRICT: a warning is a failure.
"""

from __future__ import annotations

import atexit
import hashlib
import os
import shutil
import struct
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Literal

import pytest

_HERE = Path(__file__).resolve().parent
_BUILD = _HERE.parent.parent / ".build"

_WARNINGS = ("-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Wsign-conversion", "-Wshadow", "-Werror")
STRICT = ("-std=c99", *_WARNINGS)
STRICT_CXX = ("-std=c++11", *_WARNINGS)

# Frames are kept and every finding ends the program: a sanitizer that only prints is easy to overlook.
_SANITIZE = ("-fsanitize=address,undefined", "-fno-sanitize-recover=all", "-fno-omit-frame-pointer")
_SANITIZER_STATUS = 99

SERIAL_SIZE = 8192  # the EEPROM that avr/runner.c has beside it
EEPROM_SIZE = 1024  # ATmega328P; host and Cortex-M have more when a test gives more
_BOARD_FAULT = 254  # BOARD_FAULT in board.h

Compiler = Literal["gcc", "clang"]
Language = Literal["c99", "c++"]
Cpu = Literal["cortex-m0", "cortex-m3", "cortex-m4"]
Why = Literal["limit", "crash", "status"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A call of board_mark: its number, and when in cycles (AVR) or instructions (Cortex-M)."""

    number: int
    at: int


@dataclass(frozen=True, slots=True)
class Run:
    """A run as far as it came: what was printed, and the whole memory at its end."""

    stdout: str
    eeprom_after: bytes


@dataclass(frozen=True, slots=True)
class AvrRun(Run):
    """`cycles` from reset to the end, at 16 MHz; marks in cycles. With a script also what went out by SPI,
    and the serial memory at the end."""

    cycles: int
    marks: tuple[Mark, ...]
    spi: bytes = b""
    memory_after: bytes = b""


@dataclass(frozen=True, slots=True)
class ArmRun(Run):
    """Marks in instructions. Those of a run that did not come to its end are lost."""

    marks: tuple[Mark, ...]


class BuildFailed(Exception):
    """The compiler or linker refused, warnings included; the text is what it said."""


class RunFailed(Exception):
    """The run did not end with status 0. `why`: limit (time or cycles used up), crash (the chip, the
    board or a sanitizer) or status (main's own value). `run` has what there was until then."""

    def __init__(self, why: Why, status: int | None, run: Run, said: str) -> None:
        super().__init__(f"{why}, status {status}\n{said}\nIt had printed:\n{run.stdout}")
        self.why = why
        self.status = status
        self.run = run


# Building ------------------------------------------------------------------------------------------------


@cache
def _workplace() -> Path:
    """A folder of this process for everything built and run; gone when the process ends."""
    folder = Path(tempfile.mkdtemp(prefix="paramc-target-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _new_folder() -> Path:
    return Path(tempfile.mkdtemp(dir=_workplace()))


def _call(command: Sequence[str | Path]) -> str:
    done = subprocess.run(
        [str(word) for word in command], capture_output=True, encoding="utf-8", errors="backslashreplace",
        stdin=subprocess.DEVNULL, check=False,
    )
    if done.returncode != 0:
        raise BuildFailed(f"{' '.join(map(str, command))}\n{done.stdout}{done.stderr}")
    return done.stdout


@dataclass(frozen=True, slots=True)
class _Compiler:
    command: str
    flags: tuple[str, ...]  # of the chip
    board: str  # folder of its board.c
    link: tuple[str | Path, ...] = ()

    def program(self, sources: Sequence[Path], include_dirs: Sequence[Path], extra: Sequence[str]) -> Path:
        out = _new_folder() / "program"
        board = (_HERE / "print.c", _HERE / self.board / "board.c")
        _call((self.command, *self.flags, *extra, *_includes(include_dirs), *sources, *board, *self.link,
               "-o", out))
        return out

    def object(self, source: Path, include_dirs: Sequence[Path], extra: Sequence[str]) -> Path:
        out = _new_folder() / (source.stem + ".o")
        _call((self.command, *self.flags, *extra, *_includes(include_dirs), "-c", source, "-o", out))
        return out


def _includes(folders: Sequence[Path]) -> list[str]:
    return [f"-I{folder}" for folder in (*folders, _HERE)]


def _host_compiler(compiler: Compiler, language: Language, sanitize: bool) -> _Compiler:
    sanitizers = _SANITIZE if sanitize else ()
    if language == "c99":
        return _Compiler(compiler, ("-O1", "-g", *STRICT, *sanitizers), "host")
    command = {"gcc": "g++", "clang": "clang++"}[compiler]
    return _Compiler(command, ("-O1", "-g", *STRICT_CXX, *sanitizers, "-xc++"), "host")


# -fno-common as later compilers have it by themselves: `size` overlooks what is common.
_AVR = _Compiler("avr-gcc", ("-Os", "-mmcu=atmega328p", "-fno-common", *STRICT), "avr")


def _arm_compiler(cpu: Cpu) -> _Compiler:
    return _Compiler(
        "arm-none-eabi-gcc", ("-Os", "-mthumb", f"-mcpu={cpu}", "-mfloat-abi=soft", *STRICT), "arm",
        ("-nostartfiles", "-T", _HERE / "arm" / "board.ld"),
    )


def host(
    sources: Sequence[Path],
    include_dirs: Sequence[Path] = (),
    compiler: Compiler = "gcc",
    language: Language = "c99",
    sanitize: bool = True,
    extra: Sequence[str] = (),
) -> Path:
    """A program for this machine, by default with address and undefined-behaviour sanitizers."""
    return _host_compiler(compiler, language, sanitize).program(sources, include_dirs, extra)


def avr(sources: Sequence[Path], include_dirs: Sequence[Path] = (), extra: Sequence[str] = ()) -> Path:
    """A program for the ATmega328P, -Os."""
    return _AVR.program(sources, include_dirs, extra)


def arm(
    sources: Sequence[Path], cpu: Cpu, include_dirs: Sequence[Path] = (), extra: Sequence[str] = ()
) -> Path:
    """A program for a Cortex-M at 256 KiB flash and 16 KiB RAM, -Os, no floating-point unit."""
    return _arm_compiler(cpu).program(sources, include_dirs, extra)


def host_object(
    source: Path, include_dirs: Sequence[Path] = (), *, compiler: Compiler = "gcc", language: Language = "c99"
) -> Path:
    """One source compiled as host does it without sanitizers, not linked."""
    return _host_compiler(compiler, language, False).object(source, include_dirs, ())


def avr_object(source: Path, include_dirs: Sequence[Path] = (), extra: Sequence[str] = ()) -> Path:
    """One source compiled as avr does it, not linked: for its sizes."""
    return _AVR.object(source, include_dirs, extra)


def arm_object(
    source: Path, cpu: Cpu, include_dirs: Sequence[Path] = (), extra: Sequence[str] = ()
) -> Path:
    """One source compiled as arm does it, not linked: for its sizes."""
    return _arm_compiler(cpu).object(source, include_dirs, extra)


@cache
def _avr_runner() -> Path:
    """avr/runner.c, compiled once for each state of it and of the simulator's headers."""
    source = _HERE / "avr" / "runner.c"
    state = hashlib.sha256(source.read_bytes())
    for header in sorted(Path("/usr/include/simavr").glob("*.h")):
        state.update(header.read_bytes())
    runner = _BUILD / f"avr-runner-{state.hexdigest()[:16]}"
    if not runner.exists():
        _BUILD.mkdir(exist_ok=True)
        fresh = _new_folder() / "runner"
        _call(("gcc", "-std=c99", "-O2", "-Wall", "-Wextra", "-Werror", source, "-lsimavr", "-o", fresh))
        beside = runner.with_name(f"{runner.name}.{os.getpid()}")
        shutil.copy2(fresh, beside)
        beside.replace(runner)  # another process may be at the same place
    return runner


# Running -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Ended:
    status: int | None  # None: stopped because its seconds were used up
    stdout: str
    stderr: str


def _execute(
    command: Sequence[str | Path], folder: Path, seconds: float, stdin: bytes = b"",
    environment: dict[str, str] | None = None,
) -> _Ended:
    try:
        done = subprocess.run(
            [str(word) for word in command], cwd=folder, input=stdin, capture_output=True, timeout=seconds,
            env={**os.environ, **(environment or {})}, check=False,
        )
    except subprocess.TimeoutExpired as stopped:
        return _Ended(None, _text(stopped.stdout or b""), _text(stopped.stderr or b""))
    return _Ended(done.returncode, _text(done.stdout), _text(done.stderr))


def _text(data: bytes) -> str:
    return data.decode("utf-8", errors="backslashreplace")


def _memory(folder: Path, eeprom: bytes) -> Path:
    file = folder / "eeprom"
    file.write_bytes(eeprom.ljust(EEPROM_SIZE, b"\xff"))
    return file


def run_host_board(
    binary: Path, args: Sequence[str] = (), stdin: str = "", eeprom: bytes = b"", seconds: float = 60
) -> Run:
    """Runs a program of `host` with a memory of `eeprom`, filled up with 0xFF to at least 1024 bytes."""
    folder = _new_folder()
    memory = _memory(folder, eeprom)
    ended = _execute((binary, *args), folder, seconds, stdin.encode("utf-8"), {
        "BOARD_EEPROM": str(memory),
        # The emitted C has no heap, and looking for leaks needs rights that containers often lack.
        "ASAN_OPTIONS": f"detect_leaks=0:exitcode={_SANITIZER_STATUS}",
        "UBSAN_OPTIONS": f"print_stacktrace=1:exitcode={_SANITIZER_STATUS}",
    })
    run = Run(ended.stdout, memory.read_bytes())
    _raise_unless_good(ended, run, crashes=(_SANITIZER_STATUS, _BOARD_FAULT))
    return run


def run_host(binary: Path, args: Sequence[str] = (), stdin: str = "") -> str:
    """What a program of `host` prints on standard output."""
    return run_host_board(binary, args, stdin).stdout


def run_avr(
    elf: Path, eeprom: bytes = b"", cycles: int = 160_000_000, script: str | None = None, memory: bytes = b""
) -> AvrRun:
    """Runs a program of `avr` until it ends or `cycles` (16 million a second) are used up; the memory is
    `eeprom`, at most 1024 bytes, filled up with 0xFF. script: what happens around the chip, and memory, 8 KiB
    or none: a serial EEPROM beside it, both as avr/runner.c has them."""
    if len(eeprom) > EEPROM_SIZE:
        raise ValueError(f"the ATmega328P has {EEPROM_SIZE} bytes of EEPROM, not {len(eeprom)}")
    folder = _new_folder()
    own = _memory(folder, eeprom)
    report = folder / "report"
    around: list[Path] = []
    beside = folder / "memory"
    if script is not None:
        (folder / "script").write_text(script, encoding="ascii")
        around.append(folder / "script")
        if memory:
            beside.write_bytes(memory)
            around.append(beside)
    command = (_avr_runner(), elf, "atmega328p", str(cycles), own, report, *around)
    ended = _execute(command, folder, seconds=600)
    if ended.status not in (0, 3, 4):
        raise BuildFailed(f"the AVR runner stopped with {ended.status}\n{ended.stderr}")
    lines = [line.split() for line in report.read_text(encoding="utf-8").splitlines()]
    figures = {line[0]: int(line[1]) for line in lines if line[0] not in ("mark", "spi")}
    marks = tuple(Mark(int(line[1]), int(line[2])) for line in lines if line[0] == "mark")
    spi = bytes(int(line[1]) for line in lines if line[0] == "spi")
    after = beside.read_bytes() if beside.exists() else b""
    run = AvrRun(ended.stdout, own.read_bytes(), figures["cycles"], marks, spi, after)
    if ended.status == 4:
        raise RunFailed("limit", None, run, f"{cycles} cycles were used up.\n{ended.stderr}")
    if ended.status == 3:
        raise RunFailed("crash", None, run, ended.stderr)
    _raise_unless_good(_Ended(figures["status"], ended.stdout, ended.stderr), run, (_BOARD_FAULT,))
    return run


@dataclass(frozen=True, slots=True)
class _Machine:
    name: str
    clock: int  # Hz, of the SysTick


_MACHINES: dict[Cpu, _Machine] = {
    "cortex-m0": _Machine("microbit", 16_000_000),
    "cortex-m3": _Machine("mps2-an385", 25_000_000),
    "cortex-m4": _Machine("mps2-an386", 25_000_000),
}
CPUS = tuple(_MACHINES)
_ICOUNT_SHIFT = 10  # an instruction takes 2**10 ns: many SysTick ticks, so that counts come out whole


def run_arm(elf: Path, cpu: Cpu, eeprom: bytes = b"", seconds: float = 60) -> ArmRun:
    """Runs a program of `arm` until it ends or `seconds` of real time are used up; the memory is `eeprom`,
    filled up with 0xFF to at least 1024 bytes."""
    folder = _new_folder()
    memory = _memory(folder, eeprom)
    said = folder / "stdout"
    machine = _MACHINES[cpu]
    # The names in the folder are relative: qemu takes commas in a path for the end of the option.
    ended = _execute((
        "qemu-system-arm", "-M", machine.name, "-kernel", elf, "-nographic", "-monitor", "none",
        "-serial", "none", "-icount", f"shift={_ICOUNT_SHIFT}", "-chardev", "file,id=said,path=stdout",
        "-semihosting-config", "enable=on,target=native,chardev=said",
    ), folder, seconds)
    run = ArmRun(
        _text(said.read_bytes() if said.exists() else b""), memory.read_bytes(),
        _arm_marks(folder / "marks", machine.clock),
    )
    _raise_unless_good(ended, run, crashes=(_BOARD_FAULT,))
    return run


def _arm_marks(file: Path, clock: int) -> tuple[Mark, ...]:
    if not file.exists():
        return ()
    return tuple(
        Mark(number, round(ticks * 1_000_000_000 / (clock << _ICOUNT_SHIFT)))
        for number, ticks in struct.iter_unpack("<IQ", file.read_bytes())
    )


def _raise_unless_good(ended: _Ended, run: Run, crashes: tuple[int, ...]) -> None:
    if ended.status is None:
        raise RunFailed("limit", None, run, f"The time was used up.\n{ended.stderr}")
    if ended.status < 0 or ended.status in crashes:
        raise RunFailed("crash", ended.status, run, ended.stderr)
    if ended.status != 0:
        raise RunFailed("status", ended.status, run, ended.stderr)


# Every chip ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Chip:
    """One place where a program can run. `build(sources, include_dirs, extra=...)` gives the program,
    `run(program, eeprom=...)` the Run."""

    name: str
    needs: tuple[str, ...]
    build: Callable[..., Path]
    run: Callable[..., Run]


CHIPS = (
    Chip("host-gcc", ("gcc",), host, run_host_board),
    Chip("host-clang", ("clang",), partial(host, compiler="clang"), run_host_board),
    Chip("host-c++", ("gcc",), partial(host, language="c++"), run_host_board),
    Chip("atmega328p", ("avr-gcc", "simavr"), avr, run_avr),
    *(Chip(cpu, ("arm-gcc", "qemu"), partial(arm, cpu=cpu), partial(run_arm, cpu=cpu)) for cpu in CPUS),
)

_LEAN = ("-ffunction-sections", "-fdata-sections", "-Wl,--gc-sections")


def avr_serial(
    sources: Sequence[Path], include_dirs: Sequence[Path] = (), extra: Sequence[str] = ()
) -> Path:
    """A program for the ATmega328P whose memory is a serial EEPROM beside it; what it does not use is left
    out, since products with such memories are large."""
    return avr([*sources, _HERE / "avr" / "serial.c"], include_dirs, (*_LEAN, *extra))


def run_avr_serial(program: Path, eeprom: bytes = b"") -> Run:
    """Runs it; `eeprom` is at most 8 KiB, filled up with 0xFF."""
    return run_avr(program, cycles=4_000_000_000, script="", memory=eeprom.ljust(SERIAL_SIZE, b"\xff"))


def for_memory(chip: Chip, size: int) -> Chip:
    """The chip, or the ATmega328P with a serial EEPROM where its own is too small."""
    if chip.name != "atmega328p" or size <= EEPROM_SIZE:
        return chip
    return Chip(chip.name, chip.needs, avr_serial, run_avr_serial)


on_every_chip = pytest.mark.parametrize(
    "chip", [pytest.param(chip, id=chip.name, marks=pytest.mark.needs(*chip.needs)) for chip in CHIPS]
)


# Sizes ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bytes. Flash holds text and data, RAM data and bss. Constants are text on Cortex-M, and data on AVR
    unless they are declared for flash."""

    text: int
    data: int
    bss: int


def _binutils(file: Path) -> str:
    """The prefix of the tools that know the file: by the machine that its ELF header names."""
    machine = struct.unpack_from("<H", file.read_bytes()[:20], 18)[0]
    return {83: "avr-", 40: "arm-none-eabi-"}.get(machine, "")


def size(elf: Path) -> Sizes:
    """Sizes of a program or an object."""
    figures = _call((_binutils(elf) + "size", elf)).splitlines()[1].split()
    return Sizes(*(int(figure) for figure in figures[:3]))


def symbol_sizes(obj: Path) -> dict[str, int]:
    """Bytes of each function and variable of a program or an object that has a size."""
    lines = _call((_binutils(obj) + "nm", "--print-size", "--defined-only", "--radix=d", obj)).splitlines()
    fields = [line.split() for line in lines]
    return {field[3]: int(field[1]) for field in fields if len(field) == 4}
