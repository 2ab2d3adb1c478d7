# SPDX-License-Identifier: Apache-2.0
"""Unit texts of message files to the units of a bench (sim/types/unit.cc; a test compares)."""

BENCH_UNITS = (
    "degC K degF kPa Pa hPa mbar bar MPa psi inHg atm rpm rad/s deg rad s ms us ns min h V mV A mA ohm "
    "mohm kohm Mohm Hz kHz km/h m/s mph m mm cm in ft % bit/s kbit/s Mbit/s L/h g/s Nm lbf_ft lambda "
    "count km L W kW m/s2 g deg/s N kWh Wh").split()

# As people write them, compared in lower case. Common practice, no source.
SPELLINGS = {
    "°c": "degC", "c": "degC", "deg c": "degC", "deg_c": "degC", "celsius": "degC", "grad c": "degC",
    "°f": "degF", "f": "degF", "deg f": "degF", "deg_f": "degF", "fahrenheit": "degF",
    "r/min": "rpm", "1/min": "rpm", "min-1": "rpm", "u/min": "rpm", "/min": "rpm", "rev/min": "rpm",
    "kph": "km/h", "kmh": "km/h", "kmph": "km/h", "mi/h": "mph",
    "°": "deg", "degree": "deg", "degrees": "deg", "ohms": "ohm", "ω": "ohm", "kω": "kohm",
    "percent": "%", "pct": "%", "sec": "s", "seconds": "s", "msec": "ms", "µs": "us", "μs": "us",
    "volt": "V", "volts": "V", "ampere": "A", "amps": "A", "amp": "A", "n m": "Nm", "n·m": "Nm",
    "lb-ft": "lbf_ft", "ft-lb": "lbf_ft", "λ": "lambda", "counts": "count", "#": "count",
    "hours": "h", "hour": "h", "minutes": "min", "l/hr": "L/h", "g/sec": "g/s",
    "m/s²": "m/s2", "m/s^2": "m/s2", "°/s": "deg/s", "deg/sec": "deg/s", "liter": "L", "litre": "L", "newton": "N",
}
NONE = {"", "-", "--", "1", "none", "unitless", "n/a"}
# Of these the letter's case decides: mA is not MA, ms is not Ms. Only an exact text is taken.
_BY_LOWER = {u.lower(): u for u in BENCH_UNITS if sum(v.lower() == u.lower() for v in BENCH_UNITS) == 1}


def bench_unit(text):
    """The bench's unit for a text, "" for none, None for a unit that the bench does not know."""
    text = text.strip()
    if text in BENCH_UNITS:
        return text
    lower = text.lower()
    if lower in NONE:
        return ""
    return SPELLINGS.get(lower) or _BY_LOWER.get(lower)
