// SPDX-License-Identifier: Apache-2.0
//
// The answers of a controller to a tester: `diagnostics` (OBD and UDS) and `j1939`.
#include <fmt/format.h>

#include <algorithm>

#include "profile/controller_values.h"
#include "profile/keys_on_board.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

constexpr std::size_t kVehicleIdLength = 17;
constexpr int kMaxTroubleCodes = 200;

int ReadBus(BenchContext& c, Reader& r) {
  const auto ref = r.GetRef("bus");
  return ref ? std::max(0, Resolve(c.problems, *ref, NamesOf(c.bench.buses), "bus")) : 0;
}

void ReadIds(Reader& r, OnBoardDiagnostics& d) {
  const auto read = [&](const char* key, std::int64_t by_default, std::uint32_t* out) {
    std::int64_t id = by_default;
    r.GetInt64(key, &id, 0, d.extended ? kMaxId29 : kMaxId11);
    *out = static_cast<std::uint32_t>(id);
  };
  read("functional_id", d.extended ? 0x18DB33F1 : 0x7DF, &d.functional_id);
  read("request_id", d.extended ? 0x18DA10F1 : 0x7E0, &d.request_id);
  read("response_id", d.extended ? 0x18DAF110 : 0x7E8, &d.response_id);
  if (d.response_id == d.request_id || d.response_id == d.functional_id) {
    r.Complain("response_id", fmt::format("requests and answers under 0x{:X}", d.response_id),
               "give the answers an identifier of their own");
  }
}

void CheckIdsAreFree(BenchContext& c, const Reader& r, const OnBoardDiagnostics& d) {
  if (c.bench.buses.empty()) return;
  for (const Message& m : Nth(c.bench.buses, d.bus).messages) {
    if (m.extended != d.extended) continue;
    if (m.id != d.functional_id && m.id != d.request_id && m.id != d.response_id) continue;
    c.problems.Add(
        r.place(),
        fmt::format("identifier 0x{:X} of the diagnostics is message '{}' already", m.id, m.name),
        "give one of them another");
  }
}

void ReadVehicleId(Reader& r, OnBoardDiagnostics& d) {
  if (!r.GetText("vehicle_id", &d.vehicle_id)) return;
  const auto fits = [](char x) {
    return (x >= '0' && x <= '9') || (x >= 'A' && x <= 'Z' && x != 'I' && x != 'O' && x != 'Q');
  };
  if (d.vehicle_id.size() == kVehicleIdLength && std::ranges::all_of(d.vehicle_id, fits)) return;
  r.Complain("vehicle_id", fmt::format("vehicle_id '{}'", d.vehicle_id),
             "write 17 digits and capital letters without I, O and Q (ISO 3779)");
}

void LoadPid(BenchContext& c, const Node& node, const Controller& k, OnBoardDiagnostics& d) {
  ReportedPid reported;
  reported.place = node.Where();
  Reader r(c.problems, node, "parameter");
  TakeAll(r, kPidKeys, reported);
  std::int64_t number = -1;
  const Pid* pid = nullptr;
  if (r.GetInt64("pid", &number, 0, 0xFF)) {
    reported.pid = static_cast<int>(number);
    pid = FindPid(reported.pid);
    if (pid == nullptr) {
      r.Complain("pid", fmt::format("PID 0x{:02X} is not supported", number),
                 fmt::format("known: 0x{:02X}", fmt::join(KnownPids(), ", 0x")));
    }
    const bool twice = std::ranges::any_of(
        d.pids, [&](const ReportedPid& other) { return other.pid == reported.pid; });
    if (twice) r.Complain("pid", "the same parameter twice", "answer each one once");
  }
  if (const auto ref = r.GetRef("channel")) {
    reported.channel = ref->text;
    const auto sources = ControllerValues(k);
    const int at = Resolve(c.problems, *ref, NamesOf(sources), "value of the controller");
    if (at >= 0 && pid != nullptr) {
      CheckUnits(c.problems, ref->place,
                 fmt::format("value '{}' as parameter 0x{:02X}", ref->text, number),
                 Nth(sources, at).unit, std::string(pid->unit));
    }
  }
  d.pids.push_back(std::move(reported));
}

void ReadChannelFault(BenchContext& c, Reader& r, const Controller& k, TroubleCode& t) {
  const bool has_when = TableReader(r, kTroubleCodeKeys, t).Take("when");
  const auto ref = r.GetRef("channel");
  if (!ref) return;
  t.channel = ref->text;
  std::vector<std::string> known = NamesOf(k.analog);
  for (const FrequencyChannel& f : k.frequency) known.push_back(f.name);
  const int at = Resolve(c.problems, *ref, known, "channel");
  if (at < 0 || !has_when) return;
  const bool analog = at < static_cast<int>(k.analog.size());
  if (analog == (t.when != RangeFault::kMissing)) return;
  r.Complain("when", fmt::format("a fault that channel '{}' never has", t.channel),
             analog ? "an analogue channel has 'signal low' and 'signal high'"
                    : "a frequency channel has 'no signal'");
}

// Fills in code and text, then the keys of both dialects.
template <class ReadCode>
void LoadTroubleCodes(BenchContext& c, const Node* node, const Controller& k,
                      std::vector<TroubleCode>& codes, ReadCode read_code) {
  EachItem(c.problems, node, "'trouble_codes'", [&](const Node& item) {
    TroubleCode t;
    t.place = item.Where();
    Reader r(c.problems, item, "trouble code");
    read_code(r, t);
    ReadChannelFault(c, r, k, t);
    if (codes.size() == kMaxTroubleCodes) {
      c.problems.Add(t.place, fmt::format("more than {} trouble codes", kMaxTroubleCodes),
                     "keep those that the scenarios need");
    }
    codes.push_back(std::move(t));
  });
}

void ReadSpn(Reader& r, TroubleCode& t) {
  TakeAll(r, kSpnKeys, t);
  TakeAll(r, kLampKeys, t);
  t.code = ReadSpnFmi(r);
  t.text = SpnFmiText(t.code);
}

void LoadName(BenchContext& c, const Node* node, J1939Name& name) {
  if (node == nullptr) return;
  Reader r(c.problems, *node, "the J1939 name");
  TakeAll(r, kJ1939NameKeys, name);
}

}  // namespace

std::uint32_t ReadSpnFmi(Reader& r) {
  std::int64_t spn = 0, fmi = 0;
  r.GetInt64("spn", &spn, 0, (1 << 19) - 1);
  r.GetInt64("fmi", &fmi, 0, 31);
  return SpnFmi(static_cast<std::uint32_t>(spn), static_cast<std::uint32_t>(fmi));
}

std::uint32_t ReadTroubleCode(Reader& r) {
  const auto ref = r.GetRef("code");
  if (!ref) return 0;
  const auto code = ParseTroubleCode(ref->text);
  if (code) return *code;
  r.Complain("code", fmt::format("'{}' as trouble code", ref->text),
             "write P, C, B or U, a digit 0 to 3, and three digits or A to F: P0118");
  return 0;
}

void LoadDiagnostics(BenchContext& c, const Node* node, Controller& k) {
  if (node == nullptr) return;
  OnBoardDiagnostics& d = k.diagnostics.emplace();
  d.place = node->Where();
  Reader r(c.problems, *node, "the diagnostics");
  TakeAll(r, kDiagnosticsKeys, d);
  d.bus = ReadBus(c, r);
  ReadIds(r, d);
  CheckIdsAreFree(c, r, d);
  ReadVehicleId(r, d);
  EachItem(c.problems, r.Find("pids"), "'pids'", [&](const Node& item) { LoadPid(c, item, k, d); });
  LoadTroubleCodes(c, r.Find("trouble_codes"), k, d.trouble_codes,
                   [](Reader& reader, TroubleCode& t) {
                     TakeAll(reader, kObdCodeKeys, t);
                     t.code = ReadTroubleCode(reader);
                     t.text = TroubleCodeText(static_cast<std::uint16_t>(t.code));
                   });
}

void LoadJ1939(BenchContext& c, const Node* node, Controller& k) {
  if (node == nullptr) return;
  J1939Node& j = k.j1939.emplace();
  j.place = node->Where();
  Reader r(c.problems, *node, "the J1939 node");
  TakeAll(r, kJ1939Keys, j);
  j.bus = ReadBus(c, r);
  LoadName(c, r.Find("name"), j.name);
  LoadTroubleCodes(c, r.Find("trouble_codes"), k, j.trouble_codes, ReadSpn);
}

}  // namespace drycrank::profile
