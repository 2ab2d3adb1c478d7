# SPDX-License-Identifier: Apache-2.0
"""Runs a command while the display from outside (python_display.py) stands there, and ends with its exit code.

    beside_display.py SETTINGS COMMAND...
"""
import pathlib
import subprocess
import sys

display = subprocess.Popen([sys.executable, str(pathlib.Path(__file__).parent / "python_display.py"), sys.argv[1]], stdout=subprocess.PIPE,
                           text=True)
try:
    assert display.stdout.readline().strip() == "ready"
    code = subprocess.run(sys.argv[2:]).returncode
finally:
    display.kill()
    display.wait()
sys.exit(code)
