#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Five fixed jobs (jobs.cc) by the instructions they take, which a busy machine does not change: each
within 5 % of counts.txt, so that a loss which a limit of time lets pass is seen in the change that made it.

    instructions_test.py JOBS COMPILER            compares, exit code 1 when a job is off
    instructions_test.py JOBS COMPILER --update   writes counts.txt: when a job is meant to cost what it now costs

Counted by valgrind's callgrind, in jobs.cc's CountedWork alone. Compiler and C library take part: the counts hold
for those named in counts.txt, Debian 12's. A processor with other vector instructions makes the C library choose
other string functions; that stays far below 5 %.
"""
import pathlib
import platform
import re
import subprocess
import sys

JOBS = ["load", "run", "diagnose", "large", "frames"]
COUNTS = pathlib.Path(__file__).with_name("counts.txt")
TOLERANCE = 0.05
UPDATE = "tests/instructions/instructions_test.py build/release/tests/instructions/instruction_jobs g++ --update"


def built_with(compiler):
    version = subprocess.run([compiler, "-dumpfullversion"], capture_output=True, text=True, check=True).stdout.strip()
    return f"g++ {version}, {' '.join(platform.libc_ver())}, {platform.machine()}"


def count(program, job):
    command = ["valgrind", "--tool=callgrind", "--toggle-collect=CountedWork", "--callgrind-out-file=/dev/null", program, job]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    collected = re.search(r"Collected : (\d+)", done.stderr)
    if done.returncode != 0 or not collected or int(collected[1]) == 0:
        sys.exit(f"{done.stdout}{done.stderr}\ninstructions_test: {job} was not counted")
    return int(collected[1])


def read_counts(text):
    """What they were counted with, and a dictionary by job."""
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    return lines[0], {job: int(number) for job, number in (line.split() for line in lines[1:])}


def judge(job, now, then):
    """A line to print, and whether it is within the tolerance."""
    change = now / then - 1
    good = abs(change) <= TOLERANCE
    remark = "" if good else f"   {'more' if change > 0 else 'fewer'} than {TOLERANCE:.0%}: {UPDATE}, if that is meant"
    return f"{job:10} {now:13,} instructions, {change:+7.2%} of {then:,}{remark}", good


def check_that_it_can_fail():
    assert judge("a", 1_049_000, 1_000_000)[1] and judge("a", 951_000, 1_000_000)[1]
    assert not judge("a", 1_060_000, 1_000_000)[1] and not judge("a", 940_000, 1_000_000)[1]
    assert read_counts("# why\ng++ 1, glibc 2\nload 5\nrun 6\n") == ("g++ 1, glibc 2", {"load": 5, "run": 6})


def main():
    check_that_it_can_fail()
    program, built = sys.argv[1], built_with(sys.argv[2])
    now = {job: count(program, job) for job in JOBS}
    if sys.argv[3:] == ["--update"]:
        head = "# Instructions of each job, and what they were counted with (instructions_test.py --update).\n"
        COUNTS.write_text(head + built + "\n" + "".join(f"{job} {number}\n" for job, number in now.items()))
        print(COUNTS.read_text(), end="")
        return 0
    counted_with, then = read_counts(COUNTS.read_text())
    lines = [judge(job, now[job], then[job]) for job in JOBS]
    print("\n".join(line for line, _ in lines))
    if counted_with != built:
        print(f"counts.txt was made with {counted_with}; this is {built}: its counts do not hold here")
        return 1
    return 0 if all(good for _, good in lines) else 1


if __name__ == "__main__":
    sys.exit(main())
