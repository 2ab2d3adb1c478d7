// SPDX-License-Identifier: Apache-2.0
//
// Expectations. Each kind has exactly its own keys, besides name, kind, means, proves and during.
#include <fmt/format.h>

#include "profile/keys_expectation.h"
#include "profile/kinds.h"
#include "profile/load_scenario.h"
#include "profile/state_names.h"
#include "profile/table_reader.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

void ReadSettle(Reader& r, Expectation& e) { r.Get("settle_s", &e.settle_s, {"s", 0, kMaxRunS}); }

void ReadCondition(ScenarioContext& c, Reader& r, Condition& condition) {
  if (!r.Require("condition", "condition: {signal: engine_fast.sync, equals: synchronised}"))
    return;
  const auto read = LoadCondition(c.problems, c.bench, *r.Find("condition"));
  if (read) condition = *read;
}

void ReadWithin(Reader& r, const char* remedy, double& within_s) {
  r.Require("within_s", remedy);
  r.Get("within_s", &within_s, {"s", 0.001, kMaxRunS});
}

void ReadMessage(ScenarioContext& c, Reader& r, MessageRef& message, std::string& text) {
  r.Require("message", "message: engine_fast");
  const auto ref = r.GetRef("message");
  if (!ref) return;
  message = ResolveMessage(c.problems, c.bench, *ref);
  text = ref->text;
}

// `stimulus` or a fixed `value`; the unit that the tolerance is in.
void ReadTarget(ScenarioContext& c, Reader& r, const std::string& shown_unit, bool is_needed,
                expect::Target& target) {
  const auto ref = r.GetRef("stimulus");
  const bool has_value = r.Get("value", &target.value, {shown_unit});
  if (ref) target.stimulus = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
  if (r.Has("stimulus") && r.Has("value")) {
    r.Complain("value", "a stimulus and a value", "write one of the two");
  } else if (!r.Has("stimulus") && !r.Has("value") && is_needed && !has_value) {
    r.problems().Add(r.place(), r.title() + " has neither 'stimulus' nor 'value'",
                     "add 'stimulus: coolant_temperature'");
  }
  r.Get("absolute", &target.absolute);
  if (target.stimulus < 0) {
    if (target.absolute && !ref) r.Complain("absolute", "no stimulus", "leave 'absolute' out");
    return;
  }
  const Stimulus& s = Nth(c.bench.stimuli, target.stimulus);
  CheckUnits(c.problems, ref->place, fmt::format("stimulus '{}' on {}", s.name, r.title()), s.unit,
             shown_unit);
  if (target.absolute && s.reference != PressureReference::kGauge) {
    r.Complain("absolute", fmt::format("stimulus '{}' is not a gauge pressure", s.name),
               "leave 'absolute' out");
  }
}

// In the stimulus' unit where there is one, else in that of what is reported.
void ReadTolerance(ScenarioContext& c, Reader& r, std::string unit, expect::Target& target) {
  if (target.stimulus >= 0) unit = Nth(c.bench.stimuli, target.stimulus).unit;
  r.Get("tolerance", &target.tolerance, {unit, 0, 1e9, true});
}

// A message whose frames carry what is to be judged: the signal with this number, -1: none.
void ReadGuarded(ScenarioContext& c, Reader& r, const char* word, int Message::*guard,
                 MessageRef& ref, std::string& text) {
  ReadMessage(c, r, ref, text);
  if (ref.bus < 0) return;
  const Message& message = MessageAt(c.bench, ref);
  if (message.*guard >= 0) return;
  r.Complain("message", fmt::format("message '{}' has no {}", message.name, word),
             "name another, or add it to the message on the bench");
}

void ReadBus(ScenarioContext& c, Reader& r, int& bus, std::string& text) {
  r.Require("bus", "bus: vehicle");
  if (const auto ref = r.GetRef("bus")) {
    bus = Resolve(c.problems, *ref, NamesOf(c.bench.buses), "bus");
    text = ref->text;
  }
}

// How the controller is asked. DM1 is broadcast: nothing is asked.
void ReadDialect(ScenarioContext& c, Reader& r, Question& question, bool or_dm1) {
  const Controller none;
  const Controller& k = c.bench.controller ? *c.bench.controller : none;
  question.over = k.diagnostics || !k.j1939 ? Dialect::kObd : Dialect::kDm1;
  r.GetWord("over", &question.over,
            {{"obd", Dialect::kObd}, {"uds", Dialect::kUds}, {"dm1", Dialect::kDm1}});
  const bool dm1 = question.over == Dialect::kDm1;
  if (dm1 && !or_dm1) {
    r.Complain("over", "DM1, which carries no values", "ask over obd or uds");
  } else if (dm1 ? !k.j1939 : !k.diagnostics) {
    r.problems().AddReference(
        r.place(),
        fmt::format("{} asks a controller without '{}'", r.title(), dm1 ? "j1939" : "diagnostics"),
        "add it to the controller of the bench");
  }
}

// One reader for each kind. What settles is the whole expectation's.

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::Follows& k) {
  r.Require("signal", "signal: engine_temps.coolant");
  r.Require("tolerance", "tolerance: 2 K");
  std::string unit;
  if (const auto ref = r.GetRef("signal")) {
    k.signal = ResolveSignal(c.problems, c.bench, *ref);
    k.signal_text = ref->text;
    if (k.signal.signal >= 0) unit = SignalAt(c.bench, k.signal).unit;
  }
  ReadTarget(c, r, unit, true, k.target);
  // Of a signal that is not known, no unit is: its name has been told.
  if (k.signal.signal >= 0 || k.target.stimulus >= 0) ReadTolerance(c, r, unit, k.target);
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::Always& k) {
  ReadCondition(c, r, k.condition);
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::Never& k) {
  ReadCondition(c, r, k.condition);
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& /*e*/, expect::Within& k) {
  ReadCondition(c, r, k.condition);
  ReadWithin(r, "within_s: 1 s", k.within_s);
}

void Read(ScenarioContext& c, Reader& r, Expectation& /*e*/, expect::ForAtLeast& k) {
  ReadCondition(c, r, k.condition);
  r.Require("for_s", "for_s: 1 s");
  r.Get("for_s", &k.for_s, {"s", 0.001, kMaxRunS});
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::MessagePresent& k) {
  ReadMessage(c, r, k.message, k.message_text);
  if (k.message.bus >= 0) k.period_ms = MessageAt(c.bench, k.message).period_ms;
  r.Get("period_ms", &k.period_ms, {"ms", 1, 3.6e6});
  r.Require("jitter_ms", "jitter_ms: 2 ms");
  r.Get("jitter_ms", &k.jitter_ms, {"ms", 0, 3.6e6});
  ReadSettle(r, e);
  if (k.message.bus >= 0 && k.period_ms <= 0) {
    r.Complain("message", fmt::format("message '{}' has no period", k.message_text),
               "add 'period_ms'");
  }
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::Counter& k) {
  ReadSettle(r, e);
  ReadGuarded(c, r, k.kWord, &Message::counter_signal, k.message, k.message_text);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::Checksum& k) {
  ReadSettle(r, e);
  ReadGuarded(c, r, k.kWord, &Message::checksum_signal, k.message, k.message_text);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::DisplayShows& k) {
  r.Require("gauge", "gauge: coolant");
  std::string unit;
  if (const auto ref = r.GetRef("gauge")) {
    const Display none;
    const Display& display = c.bench.display ? *c.bench.display : none;
    k.gauge = Resolve(c.problems, *ref, NamesOf(display.gauges), "gauge");
    if (k.gauge >= 0) unit = Nth(display.gauges, k.gauge).unit;
  }
  std::string text;
  if (r.GetUnit("unit", &text)) k.unit = text;
  std::vector<std::string> states;
  for (const auto& [code, name] : StateNamesOf(".state")) states.push_back(name);
  const int state = r.WordIndex("state", states);
  if (state >= 0) k.state = Nth(states, state);
  ReadTarget(c, r, unit, !r.Has("unit") && !r.Has("state"), k.target);
  if (r.Has("stimulus") || r.Has("value")) r.Require("tolerance", "tolerance: 2 K");
  r.Get("tolerance", &k.target.tolerance, {unit, 0, 1e9, true});
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& /*e*/, expect::Synchronised& k) {
  ReadCondition(c, r, k.condition);
  r.Require("turns", "turns: 4");
  r.Get("turns", &k.turns, {"", 0.1, 10000});
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::OnlyKnownMessages& k) {
  ReadBus(c, r, k.bus, k.bus_text);
  ReadSettle(r, e);
  EachItem(c.problems, r.Find("also"), "'also'", [&](const Node& item) {
    const auto id = ReadInt(c.problems, item, "an identifier of 'also'", 0, 0x1FFFFFFF);
    if (id) k.also.push_back(static_cast<std::uint32_t>(*id));
  });
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::NoErrorFrames& k) {
  ReadBus(c, r, k.bus, k.bus_text);
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::ControllerReads& k) {
  ReadDialect(c, r, k.question, false);
  r.Require("pid", "pid: 0x05");
  r.Require("tolerance", "tolerance: 2 K");
  std::string unit;
  std::int64_t number = 0;
  if (r.GetInt64("pid", &number, 0, 0xFF)) {
    k.question.pid = static_cast<int>(number);
    k.question.text = fmt::format("PID {:02X}", number);
    if (const Pid* pid = FindPid(k.question.pid)) {
      unit = pid->unit;
    } else {
      r.Complain("pid", fmt::format("PID 0x{:02X} is not supported", number),
                 fmt::format("known: 0x{:02X}", fmt::join(KnownPids(), ", 0x")));
    }
  }
  ReadTarget(c, r, unit, true, k.target);
  ReadTolerance(c, r, unit, k.target);
  ReadSettle(r, e);
}

void Read(ScenarioContext& c, Reader& r, Expectation& /*e*/, expect::TroubleCode& k) {
  Question& question = k.question;
  ReadDialect(c, r, question, true);
  if (question.over == Dialect::kDm1) {
    KnowRows(r, kSentCodeKeys);
    r.Require("spn", "spn: 110");
    r.Require("fmi", "fmi: 4");
    question.code = ReadSpnFmi(r);
    question.text = SpnFmiText(question.code);
  } else {
    KnowRows(r, kAskedCodeKeys);
    r.Require("code", "code: P0118");
    question.code = ReadTroubleCode(r);
    question.text = TroubleCodeText(static_cast<std::uint16_t>(question.code));
  }
  ReadWithin(r, "within_s: 2 s", k.within_s);
}

void Read(ScenarioContext& c, Reader& r, Expectation& e, expect::NoTroubleCodes& k) {
  ReadDialect(c, r, k.question, true);
  k.question.text = "trouble codes";
  ReadSettle(r, e);
}

void Read(ScenarioContext& /*c*/, Reader& /*r*/, Expectation& /*e*/, expect::Witnessed& /*k*/) {}

// The kinds that a file may name: all but the last.
std::vector<std::string> KindsInFiles() {
  constexpr std::size_t kLast = std::variant_size_v<ExpectationKind> - 1;
  static_assert(
      std::is_same_v<std::variant_alternative_t<kLast, ExpectationKind>, expect::Witnessed>);
  std::vector<std::string> words = WordsOf<ExpectationKind>();
  words.pop_back();
  return words;
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
    KnowKind(r, kExpectationKinds, Name(e.kind));
    std::visit([&](auto& k) { Read(c, r, e, k); }, e.kind);
  }
  c.scenario.expectations.push_back(std::move(e));
}

}  // namespace drycrank::profile
