// SPDX-License-Identifier: Apache-2.0
//
// Engine data and stimuli.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_bench.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/limits.h"
#include "yaml/nearest.h"

namespace drycrank::profile {
namespace {

void ReadAngles(Reader& r, double cycle_deg, std::size_t cylinders, std::vector<double>* angles) {
  const Node* node = r.Find("firing_angles_deg");
  if (node == nullptr) return;
  std::vector<double> read;
  bool good = node->kind == NodeKind::kList;
  EachItem(r.problems(), node, "'firing_angles_deg'", [&](const Node& item) {
    const auto angle =
        ReadNumber(r.problems(), item, "an angle of 'firing_angles_deg'", {"deg", 0, cycle_deg});
    good = good && angle.has_value();
    if (angle) read.push_back(*angle);
  });
  if (!good) return;
  if (read.size() != cylinders) {
    r.Complain("firing_angles_deg",
               fmt::format("{} firing angles for {} cylinders", read.size(), cylinders),
               "write one for each entry of firing_order");
    return;
  }
  if (!read.empty() && (read.front() != 0 || !std::is_sorted(read.begin(), read.end()) ||
                        read.back() >= cycle_deg)) {
    r.Complain("firing_angles_deg", "the firing angles do not rise from 0",
               fmt::format("begin with 0 and stay below the cycle of {:g} deg", cycle_deg));
    return;
  }
  *angles = std::move(read);
}

}  // namespace

void ReadOrder(Reader& r, std::vector<int>* order) {
  const Node* node = r.Find("firing_order");
  if (node == nullptr) return;
  std::vector<int> read;
  bool good = true;
  EachItem(r.problems(), node, "'firing_order'", [&](const Node& item) {
    const auto cylinder = ReadInt(r.problems(), item, "a cylinder of 'firing_order'", 1,
                                  static_cast<std::int64_t>(kMaxCylinders));
    good = good && cylinder.has_value();
    if (cylinder) read.push_back(static_cast<int>(*cylinder));
  });
  if (!good || node->kind != NodeKind::kList) return;
  std::vector<int> sorted = read;
  std::sort(sorted.begin(), sorted.end());
  bool each_once = !sorted.empty();
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    each_once = each_once && sorted[i] == static_cast<int>(i) + 1;
  }
  if (!each_once) {
    r.Complain("firing_order",
               fmt::format("firing order {} has not each cylinder once", fmt::join(read, "-")),
               "name the cylinders from 1 on, each once, as [1, 3, 4, 2]");
    return;
  }
  *order = std::move(read);
}

std::vector<double> EvenFiring(std::size_t cylinders, double cycle_deg) {
  std::vector<double> angles;
  for (std::size_t i = 0; i < cylinders; ++i) {
    angles.push_back(cycle_deg * static_cast<double>(i) / static_cast<double>(cylinders));
  }
  return angles;
}

void ReadFiring(Reader& r, int* strokes, std::vector<int>* order, std::vector<double>* angles_deg) {
  const int before = *strokes;
  if (r.Get("strokes", strokes, 2, 4) && *strokes == 3) {
    r.Complain("strokes", "3 strokes", "write 2 or 4");
    *strokes = before;
  }
  const bool own_order = r.Has("firing_order");
  ReadOrder(r, order);
  const double cycle_deg = *strokes == 2 ? 360 : 720;
  if (angles_deg->empty() || own_order || *strokes != before) {
    *angles_deg = EvenFiring(order->size(), cycle_deg);
  }
  ReadAngles(r, cycle_deg, order->size(), angles_deg);
}

namespace {

// A misspelt kind is taken for the nearest, so that nothing follows from it but its own problem.
bool IsNearRotary(const Node* kind) {
  return kind != nullptr && kind->kind == NodeKind::kScalar &&
         yaml::Nearest(kind->text, {"piston", "rotary"}) == "rotary";
}

// A rotor fires once in every turn: as on two strokes.
void ReadKind(Reader& r, TableReader<Engine>& t, Engine& engine) {
  if (!t.Take("kind") && IsNearRotary(r.Find("kind"))) engine.kind = EngineKind::kRotary;
  if (engine.kind == EngineKind::kPiston) return;
  engine.strokes = 2;
  if (!r.Has("strokes")) return;
  r.Complain("strokes", "strokes of a rotary engine",
             "leave it out: each rotor fires once in every turn of the shaft");
}

}  // namespace

void LoadEngine(BenchContext& c, const Node* node) {
  if (node == nullptr) return;
  Reader r(c.problems, *node, "engine");
  Engine& engine = c.bench.engine;
  engine.place = r.place();
  engine.written = r.Written();
  TableReader t(r, kEngineKeys, engine);
  ReadKind(r, t, engine);
  ReadFiring(r, &engine.strokes, &engine.firing_order, &engine.firing_angles_deg);
  if (!engine.firing_order.empty() && engine.firing_order.front() != 1) {
    r.Complain("firing_order",
               fmt::format("the firing order begins with cylinder {}", engine.firing_order.front()),
               "begin with cylinder 1: angle zero is its top dead centre");
  }
  t.TakeRest();
}

namespace {

Stimulus EngineSpeed() {
  Stimulus speed;
  speed.name = "engine_speed";
  speed.label = "Engine speed";
  speed.unit = "rpm";
  speed.max = kMaxSpeedRpm;
  return speed;
}

void ReadStimulus(Reader& r, Stimulus& s) {
  const bool is_speed = s.name == "engine_speed";
  TableReader t(r, kStimulusKeys, s);
  if (!is_speed) {
    r.Require("unit", "unit: degC");
    r.Require("min", "min: 0");
    r.Require("max", "max: 100");
  }
  t.Take("label");
  if (!t.Take("unit") && !is_speed && r.Has("unit")) s.unit.clear();
  if (is_speed && s.unit != "rpm") {
    r.Complain("unit", fmt::format("engine_speed in {}", s.unit), "write unit: rpm");
    s.unit = "rpm";
  }
  const Range range = is_speed ? Range{"rpm", 0, kMaxSpeedRpm} : Range{s.unit};
  const bool both = t.Take("min", range) & t.Take("max", range);
  if ((both || is_speed) && s.min >= s.max) {
    r.Complain("min", fmt::format("min {:g} is not below max {:g}", s.min, s.max), "swap them");
  }
  if (t.Take("initial", s.unit) || both) {
    if (s.min < s.max && (s.initial < s.min || s.initial > s.max)) {
      r.Complain("initial", fmt::format("initial value {:g} is outside", s.initial),
                 fmt::format("write 'initial' within {:g} to {:g}", s.min, s.max));
    }
  }
  const bool is_pressure = [&] {
    Problems unused;
    CheckUnits(unused, {}, "", s.unit, "kPa");
    return !s.unit.empty() && unused.empty();
  }();
  if (t.Take("reference") && !is_pressure) {
    r.Complain("reference", fmt::format("a reference for {}", s.unit),
               "only pressures are gauge or absolute; leave it out");
  }
}

}  // namespace

void LoadStimuli(BenchContext& c, const Node* node) {
  c.bench.stimuli.push_back(EngineSpeed());
  EachNamed(c.problems, node, "'stimuli'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Stimulus s = name == "engine_speed" ? EngineSpeed() : Stimulus{};
              s.name = name;
              if (s.label.empty()) s.label = name;
              s.place = place;
              Reader r(c.problems, data, fmt::format("stimulus '{}'", name), place);
              ReadStimulus(r, s);
              if (name == "engine_speed") {
                c.bench.stimuli[0] = std::move(s);
              } else {
                c.bench.stimuli.push_back(std::move(s));
              }
            });
  if (c.bench.stimuli.size() > kMaxStimuli) {
    c.problems.Add(node->Where(), fmt::format("{} stimuli", c.bench.stimuli.size()),
                   fmt::format("at most {}", kMaxStimuli));
  }
}

}  // namespace drycrank::profile
