"""The harness itself: one program that prints, reads and writes the memory, on every chip; and bad ends."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.target.chips import (
    CPUS,
    EEPROM_SIZE,
    STRICT,
    AvrRun,
    BuildFailed,
    Chip,
    Compiler,
    Cpu,
    Language,
    Run,
    RunFailed,
    arm,
    arm_object,
    avr,
    avr_object,
    host,
    on_every_chip,
    run_arm,
    run_avr,
    run_host,
    run_host_board,
    size,
    symbol_sizes,
)

IMAGE = bytes(range(200, 256)) + bytes(range(200))

TALK = """
#include "board.h"

static uint8_t counted = 7u;   /* start-up must copy this, */
static uint32_t cleared;       /* and clear this */

int main(void)
{
    uint8_t bytes[4];
    const uint8_t written[2] = {0x5Au, 0xA5u};
    uint32_t i;
    board_print("first line\\n");
    board_print_u32(cleared + counted);
    board_putchar('\\n');
    board_print_u32(4294967295u);
    board_putchar(' ');
    board_print_i32(-2147483647 - 1);
    board_putchar('\\n');
    board_eeprom_read(54u, bytes, 4u);
    for (i = 0u; i < 4u; i++) {
        board_print_hex(bytes[i]);
    }
    board_putchar('\\n');
    board_eeprom_write(1022u, written, 2u);
    board_eeprom_read(1022u, bytes, 1u);
    board_print_hex(bytes[0]);
    board_putchar('\\n');
    return 0;
}
"""


def program(folder: Path, text: str) -> list[Path]:
    source = folder / "program.c"
    source.write_text(text, encoding="utf-8")
    return [source]


def with_main(body: str) -> str:
    return f'#include "board.h"\nint main(void)\n{{\n{body}\n}}\n'


def stopped(chip: Chip, folder: Path, body: str, **limits: float) -> RunFailed:
    """What the run of a main with this body fails with."""
    with pytest.raises(RunFailed) as failure:
        chip.run(chip.build(program(folder, with_main(body))), **limits)
    return failure.value


@pytest.mark.slow
@on_every_chip
def test_prints_and_keeps_its_memory(chip: Chip, tmp_path: Path) -> None:
    run: Run = chip.run(chip.build(program(tmp_path, TALK)), eeprom=IMAGE)
    assert run.stdout == "first line\n7\n4294967295 -2147483648\nFEFF0001\n5A\n"
    assert run.eeprom_after == IMAGE.ljust(EEPROM_SIZE - 2, b"\xff") + b"\x5a\xa5"


@pytest.mark.slow
@on_every_chip
def test_the_status_of_main_is_the_answer_of_the_run(chip: Chip, tmp_path: Path) -> None:
    failure = stopped(chip, tmp_path, 'board_print("so far");\nreturn 3;')
    assert (failure.why, failure.status, failure.run.stdout) == ("status", 3, "so far")


@pytest.mark.slow
@on_every_chip
def test_board_exit_ends_the_run_at_once(chip: Chip, tmp_path: Path) -> None:
    failure = stopped(chip, tmp_path, 'board_exit(4);\nboard_print("too far");\nreturn 0;')
    assert (failure.why, failure.status, failure.run.stdout) == ("status", 4, "")


@pytest.mark.slow
@on_every_chip
def test_a_program_that_hangs_is_ended_by_its_limit(chip: Chip, tmp_path: Path) -> None:
    body = (
        "static const uint8_t written = 1u;\nboard_eeprom_write(0u, &written, 1u);\n"
        "volatile uint8_t turning = 0u;\nwhile (turning == 0u) { turning = 0u; }\nreturn 0;"
    )
    limit = {"cycles": 200_000} if chip.name == "atmega328p" else {"seconds": 2.0}
    failure = stopped(chip, tmp_path, body, **limit)
    assert failure.why == "limit"
    assert failure.run.eeprom_after[:2] == b"\x01\xff"


@pytest.mark.slow
@on_every_chip
def test_an_address_outside_the_memory_is_a_crash(chip: Chip, tmp_path: Path) -> None:
    body = "uint8_t byte = 0u;\nboard_eeprom_read(1024u, &byte, 1u);\nreturn byte;"
    failure = stopped(chip, tmp_path, body)
    assert failure.why == "crash"
    assert "outside the EEPROM" in str(failure)


@pytest.mark.slow
@on_every_chip
def test_a_warning_is_a_failure(chip: Chip, tmp_path: Path) -> None:
    body = "uint32_t wide = 7u;\nuint8_t narrow = wide;\nreturn narrow;"
    with pytest.raises(BuildFailed, match="narrow"):
        chip.build(program(tmp_path, with_main(body)))


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.needs("clang")
@pytest.mark.parametrize("compiler", ["gcc", "clang"])
@pytest.mark.parametrize("language", ["c99", "c++"])
@pytest.mark.parametrize("fault", [
    "uint8_t bytes[4] = {0u, 0u, 0u, 0u};\nvolatile uint8_t i = 4u;\nreturn bytes[i];",
    "volatile int32_t most = 2147483647;\nmost = most + 1;\nreturn 0;",
], ids=["address", "overflow"])
def test_a_sanitizer_ends_the_run(
    compiler: Compiler, language: Language, fault: str, tmp_path: Path
) -> None:
    binary = host(program(tmp_path, with_main(fault)), compiler=compiler, language=language)
    with pytest.raises(RunFailed) as failure:
        run_host(binary)
    assert failure.value.why == "crash"


@pytest.mark.needs("gcc")
def test_the_host_has_arguments_and_standard_input(tmp_path: Path) -> None:
    binary = host(program(tmp_path, """
        #include <stdio.h>
        int main(int argc, char **argv)
        {
            int c = getchar();
            printf("%d %s %c", argc, argv[1], c);
            return 0;
        }
    """), sanitize=False)
    assert run_host(binary, ["one word"], "x") == "2 one word x"


@pytest.mark.needs("gcc")
def test_the_host_takes_a_larger_memory(tmp_path: Path) -> None:
    body = "uint8_t byte;\nboard_eeprom_read(4095u, &byte, 1u);\nboard_print_hex(byte);\nreturn 0;"
    run = run_host_board(host(program(tmp_path, with_main(body))), eeprom=bytes(4095) + b"\x3c")
    assert run.stdout == "3C"
    assert len(run.eeprom_after) == 4096


@pytest.mark.needs("avr-gcc", "simavr")
def test_avr_marks_count_cycles(tmp_path: Path) -> None:
    # ldi and out take one cycle each, nop one: AVR Instruction Set Manual, Microchip DS40002198.
    nops = "__asm__ volatile(\"nop\\n nop\\n nop\\n nop\\n nop\");"
    body = f"board_mark(1u);\nboard_mark(2u);\n{nops}\nboard_mark(3u);\nreturn 0;"
    run = run_avr(avr(program(tmp_path, with_main(body))))
    one, two, three = run.marks
    assert (one.number, two.number, three.number) == (1, 2, 3)
    assert (two.at - one.at, three.at - two.at) == (2, 7)
    assert three.at < run.cycles < three.at + 100


@pytest.mark.needs("avr-gcc", "simavr")
def test_avr_is_stopped_at_the_very_cycle(tmp_path: Path) -> None:
    elf = avr(program(tmp_path, with_main("for (;;) { board_mark(0u); }\nreturn 0;")))
    with pytest.raises(RunFailed) as failure:
        run_avr(elf, cycles=12_345)
    run = failure.value.run
    assert isinstance(run, AvrRun)
    assert 12_345 <= run.cycles <= 12_345 + 4  # no instruction of AVR takes longer


@pytest.mark.needs("avr-gcc", "simavr")
def test_avr_refuses_a_jump_into_nothing(tmp_path: Path) -> None:
    body = "__asm__ volatile(\"ijmp\" : : \"z\"(0x3FFE));\nreturn 0;"  # the last words of the flash, erased
    with pytest.raises(RunFailed) as failure:
        run_avr(avr(program(tmp_path, with_main(body))))
    assert failure.value.why == "crash"


@pytest.mark.needs("arm-gcc", "qemu")
@pytest.mark.parametrize("cpu", CPUS)
def test_arm_marks_count_instructions(cpu: Cpu, tmp_path: Path) -> None:
    body = """
    board_mark(1u);
    board_mark(2u);
    __asm__ volatile(".rept 1000\\n nop\\n .endr");
    board_mark(3u);
    __asm__ volatile("ldr r0, =1000000\\n 1: sub r0, #1\\n cmp r0, #0\\n bne 1b" : : : "r0", "cc");
    board_mark(4u);
    return 0;"""
    run = run_arm(arm(program(tmp_path, with_main(body)), cpu), cpu)
    empty, nops, loop = (later.at - mark.at for mark, later in zip(run.marks, run.marks[1:], strict=False))
    assert 0 < empty < 60
    assert nops - empty == 1000
    # Three million in the loop, and each of the few rounds of the SysTick takes a handful for itself.
    assert 3_000_000 <= loop - empty < 3_000_200


@pytest.mark.needs("arm-gcc", "qemu")
@pytest.mark.parametrize("cpu", CPUS)
def test_arm_faults_are_crashes(cpu: Cpu, tmp_path: Path) -> None:
    body = "__asm__ volatile(\"udf #0\");\nreturn 0;"  # the instruction that is for ever undefined
    with pytest.raises(RunFailed) as failure:
        run_arm(arm(program(tmp_path, with_main(body)), cpu), cpu)
    assert failure.value.why == "crash"


@pytest.mark.needs("avr-gcc", "arm-gcc")
def test_sizes_of_an_object(tmp_path: Path) -> None:
    source = tmp_path / "sizes.c"
    source.write_text(
        "#include <stdint.h>\nextern const uint8_t table[100]; extern uint16_t counter; extern uint8_t set;\n"
        "const uint8_t table[100] = {1u}; uint16_t counter; uint8_t set = 1u;\n", encoding="utf-8",
    )
    for obj in (arm_object(source, "cortex-m0"), avr_object(source)):
        assert symbol_sizes(obj) == {"table": 100, "counter": 2, "set": 1}
        sizes = size(obj)
        # GCC for AVR keeps constants in RAM unless the program says otherwise.
        assert sorted((sizes.text, sizes.data)) in ([1, 100], [0, 101])
        assert sizes.bss == 2


def test_strict_means_what_the_project_promises() -> None:
    assert set(STRICT) == {
        "-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Wsign-conversion", "-Wshadow",
        "-Werror",
    }
