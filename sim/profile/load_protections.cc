// SPDX-License-Identifier: Apache-2.0
//
// What the controller must do by itself. A limit is in the unit of the channel that is watched; what
// moves it, and by how much it can be moved, is the stimulus'.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/keys_protection.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "profile/told_controller.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

constexpr const char* kEngineSpeed = "engine_speed";
constexpr double kUsualDelayShare = 0.1;

struct Channel {
  std::string name, unit;
};

std::vector<Channel> ChannelsOf(const Controller& k) {
  std::vector<Channel> channels{{kEngineSpeed, "rpm"}};
  for (const AnalogChannel& channel : k.analog) channels.push_back({channel.name, channel.unit});
  for (const FrequencyChannel& channel : k.frequency) {
    channels.push_back({channel.name, channel.unit});
  }
  return channels;
}

void ReadWatches(BenchContext& c, Reader& r, Protection& p) {
  const auto ref = r.GetRef("watches");
  if (!ref) return;
  const std::vector<Channel> channels = ChannelsOf(*c.bench.controller);
  const int at = Resolve(c.problems, *ref, NamesOf(channels), "channel of the controller");
  p.watches = ref->text;
  if (at >= 0) p.unit = Nth(channels, at).unit;
}

// A name that is needed because the channel has another one.
void ReadStimulus(BenchContext& c, Reader& r, Protection& p) {
  if (const auto ref = r.GetRef("stimulus")) {
    p.stimulus = std::max(0, Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus"));
  } else if (!p.unit.empty()) {
    const int at = IndexOf(c.bench.stimuli, p.watches);
    if (at < 0) {
      r.Complain("watches", fmt::format("no stimulus named '{}'", p.watches),
                 "write what moves it, as 'stimulus: boost_pressure'");
      return;
    }
    p.stimulus = at;
  }
  const Stimulus& stimulus = Nth(c.bench.stimuli, p.stimulus);
  CheckUnits(c.problems, p.place, fmt::format("protection '{}' watches '{}'", p.name, p.watches),
             stimulus.unit, p.unit);
  if (p.absolute && stimulus.reference != PressureReference::kGauge) {
    r.Complain("absolute", "'absolute' and a stimulus that is no gauge pressure", "leave it out");
  }
}

// Of above and below, one.
bool ReadLimit(Reader& r, Protection& p) {
  const bool above = r.Has("above"), below = r.Has("below");
  p.side = below ? LimitSide::kBelow : LimitSide::kAbove;
  if (above == below) {
    r.problems().Add(r.place(),
                     fmt::format("{} has {} limit", r.title(), above ? "more than one" : "no"),
                     "write one of above and below");
    return false;
  }
  return r.Get(above ? "above" : "below", &p.limit, {p.unit, -kAny, kAny});
}

void ReadRelease(Reader& r, Protection& p) {
  p.release = p.limit;
  if (!r.Get("release", &p.release, {p.unit, -kAny, kAny})) return;
  if (!p.IsBeyond(p.release, p.limit)) return;
  r.Complain("release", "a release beyond its limit: it would let go before it acts",
             p.side == LimitSide::kAbove ? "write the value of above or lower"
                                         : "write the value of below or higher");
}

void ReadTolerances(Reader& r, Protection& p) {
  if (!r.Has("tolerance")) p.tolerance = kToleranceShare * std::abs(p.limit);
  if (p.tolerance <= 0 && !r.Has("tolerance")) {
    r.problems().Add(r.place(), fmt::format("{} has the limit 0 and no tolerance", r.title()),
                     "write how far off it may act, as 'tolerance: 1'");
  }
  if (!r.Has("delay_tolerance_ms")) p.delay_tolerance_ms = kUsualDelayShare * p.delay_ms;
}

void ReadOutput(BenchContext& c, Reader& r, Protection& p) {
  const auto ref = r.GetRef("output");
  if (!ref) return;
  const auto& outputs = c.bench.controller->outputs;
  p.output = Resolve(c.problems, *ref, NamesOf(outputs), "output of the controller");
  if (p.output < 0) return;
  const OutputKind kind = Nth(outputs, p.output).kind;
  if (kind == OutputKind::kLowSide || kind == OutputKind::kHighSide) return;
  r.Complain("output", "an output that is a cylinder's", "use spark_cut or fuel_cut");
}

void ReadLamp(BenchContext& c, Reader& r, Protection& p) {
  const auto ref = r.GetRef("signal");
  if (!ref) return;
  p.lamp_text = ref->text;
  p.lamp = ResolveSignal(c.problems, c.bench, *ref);
  if (p.lamp.signal < 0) return;
  const Message& message = MessageAt(c.bench, {p.lamp.bus, p.lamp.message});
  if (message.sender == Sender::kController) return;
  r.Complain("signal", fmt::format("a signal that the {} sends", Name(message.sender)),
             "name a signal of the controller");
}

// An engine that is held where the protection does not look is let go again at once.
void CheckLimitTo(Reader& r, const Protection& p) {
  if (p.watches == kEngineSpeed) {
    r.Complain("action", "limit_speed on engine_speed", "write spark_cut or fuel_cut");
  } else if (p.limit_to_rpm > 0 && p.limit_to_rpm <= p.needs_above_rpm) {
    r.Complain("limit_to_rpm",
               "a speed at which it does not look: it would let go as soon as it has acted",
               "write more than needs_above_rpm");
  }
}

void ReadAction(BenchContext& c, Reader& r, Protection& p) {
  switch (p.action) {
    case ProtectionAction::kSparkCut:
    case ProtectionAction::kFuelCut:
      return;
    case ProtectionAction::kLimitSpeed:
      TakeAll(r, kLimitSpeedKeys, p);
      CheckLimitTo(r, p);
      return;
    case ProtectionAction::kOutputOff:
      TakeAll(r, kOutputOffKeys, p);
      ReadOutput(c, r, p);
      return;
    case ProtectionAction::kLamp:
      TakeAll(r, kProtectionLampKeys, p);
      ReadLamp(c, r, p);
      return;
  }
}

// What is told wrong is named by it.
void CheckOwnName(BenchContext& c, const Protection& p) {
  if (p.name != kDecoderPlace && IndexOf(c.bench.controller->triggers, p.name) < 0) return;
  c.problems.Add(p.place, fmt::format("a protection and a trigger are both named '{}'", p.name),
                 "give the protection another name");
}

void LoadProtection(BenchContext& c, const std::string& name, const Place& place,
                    const Node& node) {
  Protection p;
  p.name = p.label = name;
  p.place = place;
  Reader r(c.problems, node, fmt::format("protection '{}'", name), place);
  TableReader t(r, kProtectionKeys, p);
  ReadWatches(c, r, p);
  t.TakeRest(p.unit);
  ReadStimulus(c, r, p);
  if (ReadLimit(r, p)) {
    ReadRelease(r, p);
    ReadTolerances(r, p);
  }
  ReadAction(c, r, p);
  CheckOwnName(c, p);
  c.bench.protections.push_back(std::move(p));
}

}  // namespace

void LoadProtections(BenchContext& c, const Node* node) {
  if (node == nullptr) return;
  if (!c.bench.controller) {
    c.problems.AddReference(node->Where(), "protections without a controller that has them",
                            "add 'controller', or leave protections out");
    return;
  }
  EachNamed(c.problems, node, "'protections'",
            [&](const std::string& name, const Place& place, const Node& data) {
              LoadProtection(c, name, place, data);
            });
}

}  // namespace drycrank::profile
