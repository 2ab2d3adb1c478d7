// SPDX-License-Identifier: Apache-2.0
//
// Expectations. Each kind has exactly its own keys, besides name, kind, means, proves and during.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_expectation.h"
#include "profile/kinds.h"
#include "profile/load_scenario.h"
#include "profile/state_names.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

void ReadSettle(Rows& rows, Expectation& e) { rows.Take("settle_s", &e.settle_s); }

void ReadCondition(ScenarioContext& c, Rows& rows, Condition& condition) {
  rows.Need("condition");
  if (!rows->Has("condition")) return;
  const auto read = LoadCondition(c.problems, c.bench, *rows->Find("condition"));
  if (read) condition = *read;
}

void ReadMessage(ScenarioContext& c, Rows& rows, MessageRef& message, std::string& text) {
  rows.Need("message");
  const auto ref = rows->GetRef("message");
  if (!ref) return;
  message = ResolveMessage(c.problems, c.bench, *ref);
  text = ref->text;
}

// `stimulus` or a fixed `value`; the unit that the tolerance is in.
void ReadTarget(ScenarioContext& c, Rows& rows, const std::string& shown_unit, bool is_needed,
                expect::Target& target) {
  const auto ref = rows->GetRef("stimulus");
  const bool has_value = rows.Take("value", &target.value, shown_unit);
  if (ref) target.stimulus = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
  if (rows->Has("stimulus") && rows->Has("value")) {
    rows->Complain("value", "a stimulus and a value", "write one of the two");
  } else if (!rows->Has("stimulus") && !rows->Has("value") && is_needed && !has_value) {
    rows->problems().Add(rows->place(), rows->title() + " has neither 'stimulus' nor 'value'",
                         "add 'stimulus: coolant_temperature'");
  }
  rows.Take("absolute", &target.absolute);
  if (target.stimulus < 0) {
    if (target.absolute && !ref) rows->Complain("absolute", "no stimulus", "leave 'absolute' out");
    return;
  }
  const Stimulus& s = Nth(c.bench.stimuli, target.stimulus);
  CheckUnits(c.problems, ref->place, fmt::format("stimulus '{}' on {}", s.name, rows->title()),
             s.unit, shown_unit);
  if (target.absolute && s.reference != PressureReference::kGauge) {
    rows->Complain("absolute", fmt::format("stimulus '{}' is not a gauge pressure", s.name),
                   "leave 'absolute' out");
  }
}

// In the stimulus' unit where there is one, else in that of what is reported.
void ReadTolerance(ScenarioContext& c, Rows& rows, std::string unit, expect::Target& target) {
  if (target.stimulus >= 0) unit = Nth(c.bench.stimuli, target.stimulus).unit;
  rows.Take("tolerance", &target.tolerance, unit);
}

// A message whose frames carry what is to be judged: the signal with this number, -1: none.
void ReadGuarded(ScenarioContext& c, Rows& rows, const char* word, int Message::*guard,
                 MessageRef& ref, std::string& text) {
  ReadMessage(c, rows, ref, text);
  if (ref.bus < 0) return;
  const Message& message = MessageAt(c.bench, ref);
  if (message.*guard >= 0) return;
  rows->Complain("message", fmt::format("message '{}' has no {}", message.name, word),
                 "name another, or add it to the message on the bench");
}

void ReadBus(ScenarioContext& c, Rows& rows, int& bus, std::string& text) {
  rows.Need("bus");
  if (const auto ref = rows->GetRef("bus")) {
    bus = Resolve(c.problems, *ref, NamesOf(c.bench.buses), "bus");
    text = ref->text;
  }
}

// How the controller is asked. DM1 is broadcast: nothing is asked.
void ReadDialect(ScenarioContext& c, Rows& rows, Question& question, bool or_dm1) {
  const Controller none;
  const Controller& k = c.bench.controller ? *c.bench.controller : none;
  question.over = k.diagnostics || !k.j1939 ? Dialect::kObd : Dialect::kDm1;
  rows.Take("over", &question.over);
  const bool dm1 = question.over == Dialect::kDm1;
  if (dm1 && !or_dm1) {
    rows->Complain("over", "DM1, which carries no values", "ask over obd or uds");
  } else if (dm1 ? !k.j1939 : !k.diagnostics) {
    rows->problems().AddReference(rows->place(),
                                  fmt::format("{} asks a controller without '{}'", rows->title(),
                                              dm1 ? "j1939" : "diagnostics"),
                                  "add it to the controller of the bench");
  }
}

bool IsOnSignal(const Condition& condition) { return condition.looks_at == LooksAt::kReported; }

void ReadWhen(ScenarioContext& c, Rows& rows, const Condition& condition, Expectation& e) {
  if (rows->Has("when")) e.when = LoadCondition(c.problems, c.bench, *rows->Find("when"));
  if (!e.when || condition.text.empty() || (!IsOnSignal(*e.when) && !IsOnSignal(condition))) return;
  rows->Complain("when", "a signal in 'condition' or in 'when'",
                 "use output, age_of or crank in both");
  e.when.reset();
}

// One reader for each kind. What settles is the whole expectation's.

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Follows& k) {
  rows.Need("signal");
  rows.Need("tolerance");
  std::string unit;
  if (const auto ref = rows->GetRef("signal")) {
    k.signal = ResolveSignal(c.problems, c.bench, *ref);
    k.signal_text = ref->text;
    if (k.signal.signal >= 0) unit = SignalAt(c.bench, k.signal).unit;
  }
  ReadTarget(c, rows, unit, true, k.target);
  // Of a signal that is not known, no unit is: its name has been told.
  if (k.signal.signal >= 0 || k.target.stimulus >= 0) ReadTolerance(c, rows, unit, k.target);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Always& k) {
  ReadCondition(c, rows, k.condition);
  ReadWhen(c, rows, k.condition, e);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Never& k) {
  ReadCondition(c, rows, k.condition);
  ReadWhen(c, rows, k.condition, e);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& /*e*/, expect::Within& k) {
  ReadCondition(c, rows, k.condition);
  rows.Take("within_s", &k.within_s);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& /*e*/, expect::ForAtLeast& k) {
  ReadCondition(c, rows, k.condition);
  rows.Take("for_s", &k.for_s);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::MessagePresent& k) {
  ReadMessage(c, rows, k.message, k.message_text);
  if (k.message.bus >= 0) k.period_ms = MessageAt(c.bench, k.message).period_ms;
  rows.Take("period_ms", &k.period_ms);
  rows.Take("jitter_ms", &k.jitter_ms);
  ReadSettle(rows, e);
  if (k.message.bus >= 0 && k.period_ms <= 0) {
    rows->Complain("message", fmt::format("message '{}' has no period", k.message_text),
                   "add 'period_ms'");
  }
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Counter& k) {
  ReadSettle(rows, e);
  ReadGuarded(c, rows, k.kWord, &Message::counter_signal, k.message, k.message_text);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Checksum& k) {
  ReadSettle(rows, e);
  ReadGuarded(c, rows, k.kWord, &Message::checksum_signal, k.message, k.message_text);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::DisplayShows& k) {
  rows.Need("gauge");
  std::string unit;
  const std::vector<Readout> readouts = RequiredReadouts(c.bench);
  if (const auto ref = rows->GetRef("gauge")) {
    k.gauge = Resolve(c.problems, *ref, NamesOf(readouts), "gauge");
    if (k.gauge >= 0) unit = Nth(readouts, k.gauge).unit;
  }
  std::string text;
  if (rows->GetUnit("unit", &text)) k.unit = text;
  std::vector<std::string> states;
  for (const auto& [code, name] : StateNamesOf(".state")) states.push_back(name);
  const int state = rows->WordIndex("state", states);
  if (state >= 0) k.state = Nth(states, state);
  const bool is_bar = k.gauge >= 0 && Nth(readouts, k.gauge).bar.has_value();
  for (const char* key : {"stimulus", "value"}) {
    if (!is_bar || !rows->Has(key)) continue;
    rows->Complain(key, "a bar shows no number",
                   "name a readout of the same signal with a number, or leave it out and ask for state");
  }
  ReadTarget(c, rows, unit, !rows->Has("unit") && !rows->Has("state"), k.target);
  if (rows->Has("stimulus") || rows->Has("value")) rows->Require("tolerance", "tolerance: 2 K");
  rows.Take("tolerance", &k.target.tolerance, unit);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& /*e*/, expect::Synchronised& k) {
  ReadCondition(c, rows, k.condition);
  if (!IsOnSignal(k.condition)) {
    rows->Complain("condition", "a condition that is not on a signal", "name a signal");
  }
  rows.Take("turns", &k.turns);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::OnlyKnownMessages& k) {
  ReadBus(c, rows, k.bus, k.bus_text);
  ReadSettle(rows, e);
  EachItem(c.problems, rows->Find("also"), "'also'", [&](const Node& item) {
    const auto id = ReadInt(c.problems, item, "an identifier of 'also'", 0, kMaxId29);
    if (id) k.also.push_back(static_cast<std::uint32_t>(*id));
  });
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::NoErrorFrames& k) {
  ReadBus(c, rows, k.bus, k.bus_text);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::ControllerReads& k) {
  ReadDialect(c, rows, k.question, false);
  rows.Need("pid");
  rows.Need("tolerance");
  std::string unit;
  if (rows.Take("pid", &k.question.pid)) {
    k.question.text = fmt::format("PID {:02X}", k.question.pid);
    if (const Pid* pid = FindPid(k.question.pid)) {
      unit = pid->unit;
    } else {
      rows->Complain("pid", fmt::format("PID 0x{:02X} is not supported", k.question.pid),
                     fmt::format("known: 0x{:02X}", fmt::join(KnownPids(), ", 0x")));
    }
  }
  ReadTarget(c, rows, unit, true, k.target);
  ReadTolerance(c, rows, unit, k.target);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& /*e*/, expect::TroubleCode& k) {
  Question& question = k.question;
  ReadDialect(c, rows, question, true);
  if (question.over == Dialect::kDm1) {
    rows.Know(kSentCodeKeys);
    rows->Require("spn", "spn: 110");
    rows->Require("fmi", "fmi: 4");
    question.code = ReadSpnFmi(rows.reader());
    question.text = SpnFmiText(question.code);
  } else {
    rows.Know(kAskedCodeKeys);
    rows->Require("code", "code: P0118");
    question.code = ReadTroubleCode(rows.reader());
    question.text = TroubleCodeText(static_cast<std::uint16_t>(question.code));
  }
  rows.Take("within_s", &k.within_s);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::NoTroubleCodes& k) {
  ReadDialect(c, rows, k.question, true);
  k.question.text = "trouble codes";
  ReadSettle(rows, e);
}

// Outputs of an engine whose controller switches them.
void NeedController(ScenarioContext& c, Rows& rows) {
  if (c.bench.controller && !c.bench.engine.firing_order.empty()) return;
  rows->problems().AddReference(rows->place(), rows->title() + " asks a bench without controller",
                                "add 'controller' to the bench");
}

void ReadCylinder(ScenarioContext& c, Rows& rows, int& cylinder) {
  NeedController(c, rows);
  const auto cylinders = static_cast<std::int64_t>(c.bench.engine.firing_order.size());
  rows.TakeWhole("cylinder", &cylinder, std::max<std::int64_t>(1, cylinders));
}

void ReadWidth(Rows& rows, const char* least_key, const char* most_key,
               std::optional<double>& least_ms, std::optional<double>& most_ms) {
  rows.Take(least_key, &least_ms);
  rows.Take(most_key, &most_ms);
  if (least_ms && most_ms && *least_ms > *most_ms) {
    rows->Complain(most_key, fmt::format("less than {}", least_key), "write the larger of the two");
  }
}

// What the engine was designed for, at that plug.
std::optional<double> DesignedAdvanceDeg(const Engine& engine, expect::Plug plug) {
  if (plug == expect::Plug::kLeading || !engine.advance_deg) return engine.advance_deg;
  if (!engine.trailing_deg) return std::nullopt;
  return *engine.advance_deg - *engine.trailing_deg;
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::FiresAt& k) {
  ReadCylinder(c, rows, k.cylinder);
  rows.Take("plug", &k.plug);
  const auto designed_deg = DesignedAdvanceDeg(c.bench.engine, k.plug);
  double advance_deg = 0;
  const bool table = rows.Take("advance_at_rpm", &k.advance_at_rpm);
  const bool fixed = rows.Take("advance_deg", &advance_deg);
  if (rows->Has("advance_deg") && rows->Has("advance_at_rpm")) {
    rows->Complain("advance_at_rpm", "an advance and a table of it", "write one of the two");
  } else if (fixed || (!table && designed_deg)) {
    k.advance_at_rpm = {{0, fixed ? advance_deg : *designed_deg}};
  } else if (!rows->Has("advance_deg") && !rows->Has("advance_at_rpm")) {
    rows->problems().Add(rows->place(),
                         rows->title() + " has no advance, and the engine of the bench has none",
                         k.plug == expect::Plug::kLeading
                             ? "add 'advance_deg: 10', here or to the engine"
                             : "add 'advance_deg: -2', or advance_deg and trailing_deg to the "
                               "engine");
  }
  rows.Take("tolerance_deg", &k.tolerance_deg);
  ReadWidth(rows, "dwell_at_least_ms", "dwell_at_most_ms", k.dwell_at_least_ms, k.dwell_at_most_ms);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::InjectsAt& k) {
  ReadCylinder(c, rows, k.cylinder);
  rows.Take("point", &k.point);
  rows.Take("before_deg", &k.before_deg);
  rows.Take("tolerance_deg", &k.tolerance_deg);
  ReadWidth(rows, "open_at_least_ms", "open_at_most_ms", k.open_at_least_ms, k.open_at_most_ms);
  ReadSettle(rows, e);
}

// The wheel that is judged, at an input that sees its edges at their places.
void ReadCam(ScenarioContext& c, Rows& rows, expect::CamEdges& k) {
  const auto ref = rows->GetRef("cam");
  if (!ref) return;
  k.cam = ref->text;
  k.trigger = Resolve(c.problems, *ref, NamesOf(c.bench.triggers), "trigger");
  if (k.trigger < 0 || !c.bench.controller) return;
  const Controller& controller = *c.bench.controller;
  k.input = IndexOf(controller.triggers, ref->text);
  if (k.input < 0) {
    rows->Complain("cam", fmt::format("the controller has no trigger '{}'", ref->text),
                   "give the engine's wheel and the controller's input one name");
  } else if (k.input == controller.decoder.primary) {
    rows->Complain("cam",
                   fmt::format("'{}' is the wheel that the cams are measured against", ref->text),
                   "name another");
  }
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::CamEdges& k) {
  NeedController(c, rows);
  rows.Need("cam");
  ReadCam(c, rows, k);
  rows.Take("tolerance_deg", &k.tolerance_deg);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& c, Rows& rows, Expectation& e, expect::Order& k) {
  NeedController(c, rows);
  rows.Take("output", &k.output);
  ReadSettle(rows, e);
}

void Read(ScenarioContext& /*c*/, Rows& /*rows*/, Expectation& /*e*/, expect::Witnessed& /*k*/) {}

// The kinds that a file may name: all but the last.
std::vector<std::string> KindsInFiles() {
  constexpr std::size_t kLast = std::variant_size_v<ExpectationKind> - 1;
  static_assert(
      std::is_same_v<std::variant_alternative_t<kLast, ExpectationKind>, expect::Witnessed>);
  std::vector<std::string> words = WordsOf<ExpectationKind>();
  words.pop_back();
  return words;
}

// Without a moment in which it is judged it would hold for ever unseen.
void CheckSettle(const Scenario& scenario, Reader& r, const Expectation& e) {
  double longest_s = 0;
  for (const Step& step : scenario.steps) {
    const bool is_judged = e.during.empty() || std::ranges::count(e.during, step.name) > 0;
    if (is_judged) longest_s = std::max(longest_s, step.for_s);
  }
  if (longest_s <= 0 || e.settle_s < longest_s) return;
  r.Complain("settle_s",
             fmt::format("it is not judged for {:g} s of each step, and the longest has {:g} s",
                         e.settle_s, longest_s),
             "make it shorter, or a step longer");
}

}  // namespace

void LoadExpectation(ScenarioContext& c, const Node& node) {
  Expectation e;
  e.place = node.Where();
  const Node* name = node.Find("name");
  Reader r(c.problems, node,
           name == nullptr ? "expectation" : fmt::format("expectation '{}'", name->text));
  KnowKeys(r, kExpectationKeys);
  if (r.GetName("name", &e.name) && IndexOf(c.scenario.expectations, e.name) >= 0) {
    r.Complain("name", fmt::format("a second expectation '{}'", e.name),
               "give each expectation its own name");
  }
  r.GetText("means", &e.means);
  for (const Ref& ref : r.GetRefs("proves")) {
    Resolve(c.problems, ref, CircuitNames(c.bench), "circuit");
    e.proves.push_back(ref.text);
  }
  e.during = ReadDuring(r, NamesOf(c.scenario.steps));
  const int kind = r.WordIndex("kind", KindsInFiles());
  if (kind < 0) {
    r.PassOverOtherKeys();
  } else {
    e.kind = KindAt<ExpectationKind>(kind);
    Rows rows(r);
    KnowKind(rows, kExpectationKinds, Name(e.kind));
    std::visit([&](auto& k) { Read(c, rows, e, k); }, e.kind);
    CheckSettle(c.scenario, r, e);
  }
  c.scenario.expectations.push_back(std::move(e));
}

}  // namespace drycrank::profile
