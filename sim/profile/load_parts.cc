// SPDX-License-Identifier: Apache-2.0
//
// What stands between wires: fuses, relays, diodes.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_harness.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"

namespace drycrank::profile {
namespace {

constexpr double kFuseV = 0.075;  // at its rating; common practice, no source

// One name for a circuit's wires and its fuse would not say which is meant.
void CheckFuseName(BenchContext& c, const Wire& fuse) {
  if (std::ranges::count(c.bench.wires, fuse.circuit, &Wire::circuit) == 0) return;
  c.problems.Add(fuse.place, fmt::format("'{}' is the name of a circuit already", fuse.circuit),
                 "give the fuse a name of its own");
}

std::string ReadFuseEnd(BenchContext& c, Reader& r, std::string_view key) {
  const auto ref = r.GetRef(key);
  if (!ref || c.wires_as_drawn || !CheckWireEnd(c, *ref)) return ref ? ref->text : std::string();
  if (ref->text.find('.') != std::string::npos && IsInLine(c.bench, ref->text)) {
    c.problems.Add(ref->place, fmt::format("'{}' is a pin between two wires", ref->text),
                   "a fuse sits in a box or holder: name a pin of that");
  }
  return ref->text;
}

Wire ReadFuse(BenchContext& c, const std::string& name, const Place& place, const Node& data) {
  Wire fuse;
  fuse.circuit = name;
  fuse.place = place;
  Reader r(c.problems, data, fmt::format("fuse '{}'", name), place);
  TableReader t(r, kFuseKeys, fuse);
  fuse.from = ReadFuseEnd(c, r, "from");
  fuse.to = ReadFuseEnd(c, r, "to");
  if (!fuse.from.empty() && fuse.from == fuse.to) {
    r.Complain("to", fmt::format("the fuse ends where it begins, at '{}'", fuse.from),
               "name its other side");
  }
  t.TakeRest();
  double mohm = fuse.fuse_a > 0 ? 1e3 * kFuseV / fuse.fuse_a : 1;
  r.Get("mohm", &mohm, {"mohm", 0.01, 100000});
  fuse.length_m = 1;
  fuse.mohm_per_m = mohm;
  fuse.gauge = fmt::format("fuse {:g} A", fuse.fuse_a);
  CheckFuseName(c, fuse);
  return fuse;
}

}  // namespace

void LoadFuses(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'fuses'",
            [&](const std::string& name, const Place& place, const Node& data) {
              c.bench.wires.push_back(ReadFuse(c, name, place, data));
            });
}

void LoadRelays(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'relays'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Relay relay;
              relay.name = name;
              relay.place = place;
              Reader r(c.problems, data, fmt::format("relay '{}'", name), place);
              TakeAll(r, kRelayKeys, relay, &c);
              c.bench.relays.push_back(std::move(relay));
            });
}

void LoadDiodes(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'diodes'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Diode diode;
              diode.name = name;
              diode.place = place;
              Reader r(c.problems, data, fmt::format("diode '{}'", name), place);
              TakeAll(r, kDiodeKeys, diode, &c);
              c.bench.diodes.push_back(std::move(diode));
            });
}

}  // namespace drycrank::profile
