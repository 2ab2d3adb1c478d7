// SPDX-License-Identifier: Apache-2.0
//
// Expectations. Each kind has exactly its own keys, besides name, kind, means, proves and during.
#include <fmt/format.h>

#include "profile/keys_expectation.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

void ReadSettle(Reader& r, Expectation& e) { r.Get("settle_s", &e.settle_s, {"s", 0, kMaxRunS}); }

void ReadCondition(ScenarioContext& c, Reader& r, Expectation& e) {
  if (!r.Require("condition", "condition: {signal: engine_fast.sync, equals: synchronised}"))
    return;
  const auto condition = LoadCondition(c.problems, c.bench, *r.Find("condition"));
  if (condition) e.condition = *condition;
}

void ReadMessage(ScenarioContext& c, Reader& r, Expectation& e) {
  r.Require("message", "message: engine_fast");
  const auto ref = r.GetRef("message");
  if (!ref) return;
  e.message = ResolveMessage(c.problems, c.bench, *ref);
  e.message_text = ref->text;
}

// `stimulus` or a fixed `value`; the unit that the tolerance is in.
void ReadWanted(ScenarioContext& c, Reader& r, const std::string& shown_unit, bool is_needed,
                Expectation& e) {
  const auto ref = r.GetRef("stimulus");
  const bool has_value = r.Get("value", &e.value, {shown_unit});
  if (ref) e.stimulus = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
  if (r.Has("stimulus") && r.Has("value")) {
    r.Complain("value", "a stimulus and a value", "write one of the two");
  } else if (!r.Has("stimulus") && !r.Has("value") && is_needed && !has_value) {
    r.problems().Add(r.place(), r.title() + " has neither 'stimulus' nor 'value'",
                     "add 'stimulus: coolant_temperature'");
  }
  r.Get("absolute", &e.absolute);
  if (e.stimulus < 0) {
    if (e.absolute && !ref) r.Complain("absolute", "no stimulus", "leave 'absolute' out");
    return;
  }
  const Stimulus& s = c.bench.stimuli[static_cast<std::size_t>(e.stimulus)];
  CheckUnits(c.problems, ref->place, fmt::format("stimulus '{}' on {}", s.name, r.title()), s.unit,
             shown_unit);
  if (e.absolute && s.reference != PressureReference::kGauge) {
    r.Complain("absolute", fmt::format("stimulus '{}' is no gauge pressure", s.name),
               "leave 'absolute' out");
  }
}

void ReadFollows(ScenarioContext& c, Reader& r, Expectation& e) {
  r.Require("signal", "signal: engine_temps.coolant");
  r.Require("tolerance", "tolerance: 2 K");
  std::string unit;
  if (const auto ref = r.GetRef("signal")) {
    e.signal = ResolveSignal(c.problems, c.bench, *ref);
    e.signal_text = ref->text;
    if (e.signal.signal >= 0) unit = SignalAt(c.bench, e.signal).unit;
  }
  ReadWanted(c, r, unit, true, e);
  if (e.stimulus >= 0) unit = c.bench.stimuli[static_cast<std::size_t>(e.stimulus)].unit;
  r.Get("tolerance", &e.tolerance, {unit, 0, 1e9, true});
  ReadSettle(r, e);
}

void ReadShows(ScenarioContext& c, Reader& r, Expectation& e) {
  r.Require("gauge", "gauge: coolant");
  std::string unit;
  if (const auto ref = r.GetRef("gauge")) {
    const Display none;
    const Display& display = c.bench.display ? *c.bench.display : none;
    e.gauge = Resolve(c.problems, *ref, NamesOf(display.gauges), "gauge");
    if (e.gauge >= 0) unit = display.gauges[static_cast<std::size_t>(e.gauge)].unit;
  }
  std::string text;
  if (r.GetUnit("unit", &text)) e.unit = text;
  const int state = r.WordIndex("state", {"ok", "warning", "stale"});
  if (state >= 0) e.state = state == 0 ? "ok" : state == 1 ? "warning" : "stale";
  ReadWanted(c, r, unit, !r.Has("unit") && !r.Has("state"), e);
  if (r.Has("stimulus") || r.Has("value")) r.Require("tolerance", "tolerance: 2 K");
  r.Get("tolerance", &e.tolerance, {unit, 0, 1e9, true});
  ReadSettle(r, e);
}

void ReadPresent(ScenarioContext& c, Reader& r, Expectation& e) {
  ReadMessage(c, r, e);
  if (e.message.bus >= 0) e.period_ms = MessageAt(c.bench, e.message).period_ms;
  r.Get("period_ms", &e.period_ms, {"ms", 1, 3.6e6});
  r.Require("jitter_ms", "jitter_ms: 2 ms");
  r.Get("jitter_ms", &e.jitter_ms, {"ms", 0, 3.6e6});
  ReadSettle(r, e);
  if (e.message.bus >= 0 && e.period_ms <= 0) {
    r.Complain("message", fmt::format("message '{}' has no period", e.message_text),
               "add 'period_ms'");
  }
}

void ReadGuarded(ScenarioContext& c, Reader& r, Expectation& e) {
  ReadMessage(c, r, e);
  ReadSettle(r, e);
  if (e.message.bus < 0) return;
  const Message& message = MessageAt(c.bench, e.message);
  const bool is_counter = e.kind == ExpectationKind::kCounter;
  if ((is_counter ? message.counter_signal : message.checksum_signal) >= 0) return;
  r.Complain("message", fmt::format("message '{}' has no {}", message.name, Name(e.kind)),
             "name another, or add it to the message on the bench");
}

void ReadBus(ScenarioContext& c, Reader& r, Expectation& e) {
  r.Require("bus", "bus: vehicle");
  if (const auto ref = r.GetRef("bus")) {
    e.bus = Resolve(c.problems, *ref, NamesOf(c.bench.buses), "bus");
    e.bus_text = ref->text;
  }
  ReadSettle(r, e);
  if (e.kind != ExpectationKind::kOnlyKnownMessages) return;
  EachItem(c.problems, r.Find("also"), "'also'", [&](const Node& item) {
    const auto id = ReadInt(c.problems, item, "an identifier of 'also'", 0, 0x1FFFFFFF);
    if (id) e.also.push_back(static_cast<std::uint32_t>(*id));
  });
}

// How the controller is asked. DM1 is broadcast: nothing is asked.
void ReadDialect(ScenarioContext& c, Reader& r, Expectation& e, bool or_dm1) {
  const Controller none;
  const Controller& k = c.bench.controller ? *c.bench.controller : none;
  e.question.over = k.diagnostics || !k.j1939 ? Dialect::kObd : Dialect::kDm1;
  r.GetWord("over", &e.question.over,
            {{"obd", Dialect::kObd}, {"uds", Dialect::kUds}, {"dm1", Dialect::kDm1}});
  const bool dm1 = e.question.over == Dialect::kDm1;
  if (dm1 && !or_dm1) {
    r.Complain("over", "DM1, which carries no values", "ask over obd or uds");
  } else if (dm1 ? !k.j1939 : !k.diagnostics) {
    r.problems().AddReference(
        r.place(),
        fmt::format("{} asks a controller without '{}'", r.title(), dm1 ? "j1939" : "diagnostics"),
        "add it to the controller of the bench");
  }
}

void ReadControllerReads(ScenarioContext& c, Reader& r, Expectation& e) {
  ReadDialect(c, r, e, false);
  r.Require("pid", "pid: 0x05");
  r.Require("tolerance", "tolerance: 2 K");
  std::string unit;
  std::int64_t number = 0;
  if (r.GetInt64("pid", &number, 0, 0xFF)) {
    e.question.pid = static_cast<int>(number);
    e.question.text = fmt::format("PID {:02X}", number);
    if (const Pid* pid = FindPid(e.question.pid)) {
      unit = pid->unit;
    } else {
      r.Complain("pid", fmt::format("0x{:02X} is none that is known here", number),
                 fmt::format("known: 0x{:02X}", fmt::join(KnownPids(), ", 0x")));
    }
  }
  ReadWanted(c, r, unit, true, e);
  if (e.stimulus >= 0) unit = c.bench.stimuli[static_cast<std::size_t>(e.stimulus)].unit;
  r.Get("tolerance", &e.tolerance, {unit, 0, 1e9, true});
  ReadSettle(r, e);
}

void ReadTrouble(ScenarioContext& c, Reader& r, Expectation& e) {
  ReadDialect(c, r, e, true);
  if (e.kind == ExpectationKind::kNoTroubleCodes) {
    e.question.text = "trouble codes";
    return;
  }
  if (e.question.over == Dialect::kDm1) {
    KnowRows(r, kSentCodeKeys);
    r.Require("spn", "spn: 110");
    r.Require("fmi", "fmi: 4");
    e.question.code = ReadSpnFmi(r);
    e.question.text = SpnFmiText(e.question.code);
  } else {
    KnowRows(r, kAskedCodeKeys);
    r.Require("code", "code: P0118");
    e.question.code = ReadTroubleCode(r);
    e.question.text = TroubleCodeText(static_cast<std::uint16_t>(e.question.code));
  }
}

void ReadByKind(ScenarioContext& c, Reader& r, Expectation& e) {
  switch (e.kind) {
    case ExpectationKind::kFollows:
      return ReadFollows(c, r, e);
    case ExpectationKind::kAlways:
    case ExpectationKind::kNever:
      ReadCondition(c, r, e);
      return ReadSettle(r, e);
    case ExpectationKind::kWithin:
      ReadCondition(c, r, e);
      r.Require("within_s", "within_s: 1 s");
      r.Get("within_s", &e.within_s, {"s", 0.001, kMaxRunS});
      return;
    case ExpectationKind::kForAtLeast:
      ReadCondition(c, r, e);
      r.Require("for_s", "for_s: 1 s");
      r.Get("for_s", &e.for_s, {"s", 0.001, kMaxRunS});
      return;
    case ExpectationKind::kMessagePresent:
      return ReadPresent(c, r, e);
    case ExpectationKind::kCounter:
    case ExpectationKind::kChecksum:
      return ReadGuarded(c, r, e);
    case ExpectationKind::kDisplayShows:
      return ReadShows(c, r, e);
    case ExpectationKind::kSynchronised:
      ReadCondition(c, r, e);
      r.Require("turns", "turns: 4");
      r.Get("turns", &e.turns, {"", 0.1, 10000});
      return;
    case ExpectationKind::kOnlyKnownMessages:
    case ExpectationKind::kNoErrorFrames:
      return ReadBus(c, r, e);
    case ExpectationKind::kControllerReads:
      return ReadControllerReads(c, r, e);
    case ExpectationKind::kTroubleCode:
      ReadTrouble(c, r, e);
      r.Require("within_s", "within_s: 2 s");
      r.Get("within_s", &e.within_s, {"s", 0.001, kMaxRunS});
      return;
    case ExpectationKind::kNoTroubleCodes:
      ReadTrouble(c, r, e);
      return ReadSettle(r, e);
    case ExpectationKind::kWitnessed:
      return;  // not in kKinds
  }
}

constexpr ExpectationKind kKinds[] = {ExpectationKind::kFollows,
                                      ExpectationKind::kAlways,
                                      ExpectationKind::kNever,
                                      ExpectationKind::kWithin,
                                      ExpectationKind::kForAtLeast,
                                      ExpectationKind::kMessagePresent,
                                      ExpectationKind::kCounter,
                                      ExpectationKind::kChecksum,
                                      ExpectationKind::kDisplayShows,
                                      ExpectationKind::kSynchronised,
                                      ExpectationKind::kOnlyKnownMessages,
                                      ExpectationKind::kNoErrorFrames,
                                      ExpectationKind::kControllerReads,
                                      ExpectationKind::kTroubleCode,
                                      ExpectationKind::kNoTroubleCodes};

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
  std::vector<std::string> kinds;
  for (const ExpectationKind kind : kKinds) kinds.emplace_back(Name(kind));
  const int kind = r.WordIndex("kind", kinds);
  if (kind < 0) {
    r.PassOverOtherKeys();
  } else {
    e.kind = kKinds[kind];
    KnowKind(r, kExpectationKinds, Name(e.kind));
    ReadByKind(c, r, e);
  }
  c.scenario.expectations.push_back(std::move(e));
}

}  // namespace drycrank::profile
