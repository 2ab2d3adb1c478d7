// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <limits>

#include "io/interface.h"
#include "io/whole_file.h"
#include "report/headline.h"
#include "tools/commands.h"
#include "tools/result_files.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

// The kernel would refuse each FD frame, one after the other.
std::string LacksFd(const profile::Bench& bench, int bus, const bus::CanBus& outside) {
  const profile::Bus& wanted = Nth(bench.buses, bus);
  const bool wants_fd = std::any_of(wanted.messages.begin(), wanted.messages.end(),
                                    [](const profile::Message& m) { return m.fd; });
  if (!wants_fd || outside.CarriesFd()) return "";
  const std::string name = outside.Description().substr(outside.Description().find(':') + 1);
  return fmt::format(
      "the bench has FD messages on it, and {0} is classical; if its controller can: ip link set "
      "{0} down; ip link set {0} up type can bitrate {1:.0f} dbitrate {2:.0f} fd on; a vcan: ip "
      "link set {0} mtu 72 while it is down",
      name, wanted.bitrate_bps, wanted.data_bitrate_bps);
}

}  // namespace

CLI::Validator IsSeed() {
  return CLI::Validator(
      [](std::string& text) {
        std::uint64_t seed = 0;
        const char* end = text.data() + text.size();
        const auto [at, error] = std::from_chars(text.data(), end, seed);
        if (error == std::errc() && at == end) return std::string();
        return fmt::format("'{}' is no seed; write a whole number, 0 to {}", OneLine(text),
                           std::numeric_limits<std::uint64_t>::max());
      },
      "");
}

InRange::InRange(double low, double high) : CLI::Range(low, high) {
  func_ = [within = func_](std::string& text) {
    double value = 0;
    const bool is_number = CLI::detail::lexical_cast(text, value);
    if (is_number && !std::isfinite(value)) return "'" + OneLine(text) + "' is no finite number";
    return within(text);
  };
}

int Columns() {
  winsize size{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col >= 40) return size.ws_col;
  return 100;
}

bool PrintProblems(const Diagnostics& problems) {
  for (const Diagnostic& problem : problems) fmt::print(stderr, "{}\n", Format(problem));
  return !problems.empty();
}

void AddReportOptions(CLI::App& command, ReportFiles& files) {
  command.add_option("--html", files.html, "Write the report as one HTML page")
      ->check(HasName())
      ->type_name("FILE");
  command.add_option("--json", files.json, "Write the report as JSON")
      ->check(HasName())
      ->type_name("FILE");
  command.add_option("--junit", files.junit, "Write the verdicts as JUnit XML")
      ->check(HasName())
      ->type_name("FILE");
}

std::string WriteFile(const std::string& path, const std::string& text) {
  return io::WriteWholeFile(path, text);
}

bool IsObeyingTerminal(int descriptor) {
  const char* kind = std::getenv("TERM");
  return isatty(descriptor) == 1 && kind != nullptr && kind[0] != '\0' &&
         std::string_view(kind) != "dumb";
}

bool TakesText(int descriptor) {
  pollfd asked{descriptor, POLLOUT, 0};
  return poll(&asked, 1, 0) == 1 && (asked.revents & POLLOUT) != 0;
}

std::string Publish(const report::Report& report, const ReportFiles& files) {
  const char* no_colour = std::getenv("NO_COLOR");  // unset and empty mean the same
  const bool colour =
      IsObeyingTerminal(STDOUT_FILENO) && (no_colour == nullptr || no_colour[0] == '\0');
  fmt::print("{}", report::Terminal(report, colour, Columns()));
  std::string problem;
  const auto write = [&](const std::string& path, auto text) {
    if (path.empty() || !problem.empty()) return;
    problem = WriteFile(path, text(report));
  };
  write(files.html, report::Html);
  write(files.json, report::Json);
  write(files.junit, report::JunitXml);
  return problem;
}

int ExitCodeOf(const report::Report& report) {
  switch (report::StandingOf(report)) {
    case report::Standing::kFailed:
      return kExpectationFailed;
    case report::Standing::kNotSeen:
      // Of a recording no interface of ours failed: it does not have what was asked for.
      return report.from_recording ? kNotShown : kBenchFailed;
    case report::Standing::kStopped:
    case report::Standing::kNothing:
      return kNotShown;
    case report::Standing::kNotReady:
      return report.is_walk ? kNotShown : kAllMet;
    case report::Standing::kReady:
    case report::Standing::kAsDrawn:
      break;
  }
  return kAllMet;
}

OpenInterfaces Open(const profile::Bench& bench, const std::vector<std::string>& words,
                    Clock& clock) {
  OpenInterfaces out;
  out.by_bus.resize(bench.buses.size(), nullptr);
  for (const std::string& word : words) {
    const auto equals = word.find('=');
    const std::string name = word.substr(0, equals);
    const int bus = profile::IndexOf(bench.buses, name);
    if (equals == std::string::npos || bus < 0) {
      std::string known;
      for (const auto& b : bench.buses) known += (known.empty() ? "" : ", ") + b.name;
      out.problem =
          fmt::format("--bus {}: wants BUS=INTERFACE with a bus of the bench ({})", word, known);
      out.bad_input = true;
      return out;
    }
    const std::string text = word.substr(equals + 1);
    const io::BusAddress address = io::ParseBusAddress(text, bus);
    if (const auto* wrong = std::get_if<std::string>(&address)) {
      out.problem = fmt::format("--bus {}: {}", word, *wrong);
      out.bad_input = true;
      return out;
    }
    if (std::holds_alternative<io::InprocAddress>(address)) continue;
    io::OpenedBus opened = io::OpenBus(text, clock, bus);
    if (!opened.bus) {
      out.problem = fmt::format("--bus {}: {}", word, opened.error);
      return out;
    }
    if (const std::string lack = LacksFd(bench, bus, *opened.bus); !lack.empty()) {
      out.problem = fmt::format("--bus {}: {}", word, lack);
      return out;
    }
    Nth(out.by_bus, bus) = opened.bus.get();
    out.owned.push_back(std::move(opened.bus));
  }
  return out;
}

bool OpenInterfaces::AnyReal() const {
  return std::ranges::any_of(owned, [](const auto& outside) { return !outside->IsVirtual(); });
}

}  // namespace drycrank::tools
