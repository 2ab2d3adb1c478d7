// SPDX-License-Identifier: Apache-2.0
#include "standin/controller.h"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "profile/controller_values.h"
#include "profile/told_controller.h"
#include "standin/comparator.h"
#include "standin/conversion.h"
#include "standin/decoder.h"
#include "standin/firing_plan.h"
#include "standin/protections.h"
#include "types/nth.h"

namespace drycrank::standin {
namespace {

constexpr std::size_t kEdgeCapacity = 16384;

}  // namespace

std::vector<std::string> ControllerValueNames(const profile::Controller& controller) {
  std::vector<std::string> names;
  for (const profile::CarriedValue& value : profile::ControllerValues(controller)) {
    names.push_back(value.name);
  }
  return names;
}

struct Controller::Impl {
  // What one comparator's edges are for.
  enum class Use { kTrigger, kFrequency };
  struct Circuit {
    int input = -1;
    Use use = Use::kTrigger;
    int index = 0;  // into triggers or frequency
    int cam = -1;   // index into decoder.cams; -1: none
    bool primary = false;
    bool active_high = false;  // the active edge is the rising one
    bool both = false;         // the other one is read too
    bool by_level = false;     // its level is
    Comparator comparator;
  };

  explicit Impl(const profile::Bench& bench);
  void AddTrigger(int index);
  void SetUpAnew();
  void Connect();
  Circuit* EarliestUpTo(TimeNs t_ns);
  void WorkEdge(Circuit& circuit);
  void OnActiveEdge(const Circuit& circuit, TimeNs t_ns);
  void SeeLevels();
  void OnCamEdge(const Circuit& circuit, TimeNs t_ns, bool other);
  void NoSupply(TimeNs t_ns);
  void Protect(TimeNs t_ns);
  void SwitchOutputs(TimeNs t_ns, bool turns);
  double ValueOf(int index) const;
  double FixedValue(int index) const;
  std::int64_t SensorFaults() const;

  const profile::Controller& config;
  std::vector<profile::Fault> told;        // in force
  std::optional<profile::Controller> own;  // with those, where there are any
  TimeNs now_ns = 0;                       // of the last sample
  std::vector<std::string> names;
  std::vector<Circuit> circuits;
  std::vector<std::vector<std::size_t>> circuits_at;  // per input
  std::vector<TimeNs> next_ns;                        // per circuit, of its comparator
  std::vector<int> analog_inputs;  // index into controller.inputs, per analogue channel
  std::vector<AnalogInput> analog;
  std::vector<FrequencyInput> frequency;
  Decoder decoder;
  FiringPlan plan;
  Protections protections;
  std::vector<int> watched;  // per protection: index of its value
  struct Switched {
    int output = 0;
    bool on = false;
  };
  std::vector<Switched> switched;  // what protections switch off
  bool powered = true;             // until a sample says otherwise
  double supply_v = 0;
  std::vector<Edge> edges, taken_edges;
  std::vector<OutputEvent> taken_events;
  std::int64_t dropped_edges = 0;
};

Controller::Impl::Impl(const profile::Bench& bench)
    : config(*bench.controller),
      names(ControllerValueNames(config)),
      decoder(config),
      plan(config.decoder),
      protections(bench.protections) {
  const profile::Controller& c = config;
  for (const profile::Protection& p : bench.protections) {
    const auto at = std::ranges::find(names, p.watches);
    watched.push_back(static_cast<int>(at - names.begin()));
    const bool known = std::ranges::count(switched, p.output, &Switched::output) > 0;
    if (p.output >= 0 && !known) switched.push_back({p.output, false});
  }
  for (const profile::Protection& p : bench.protections) names.push_back(CarriedBy(p));
  for (std::size_t i = 0; i < c.triggers.size(); ++i) AddTrigger(static_cast<int>(i));
  for (std::size_t i = 0; i < c.frequency.size(); ++i) {
    const profile::FrequencyChannel& channel = c.frequency[i];
    circuits.push_back({InputIndex(c, channel.terminal), Use::kFrequency, static_cast<int>(i), -1,
                        false, false, false, false, Comparator(channel.high_v, channel.low_v)});
    frequency.emplace_back(channel);
  }
  Connect();
  for (const profile::AnalogChannel& channel : c.analog) {
    analog_inputs.push_back(InputIndex(c, channel.terminal));
    analog.emplace_back(channel);
  }
  edges.reserve(kEdgeCapacity);
  taken_edges.reserve(kEdgeCapacity);
  taken_events.reserve(plan.events().capacity());
}

void Controller::Impl::AddTrigger(int index) {
  const profile::TriggerChannel& channel = Nth(config.triggers, index);
  const std::vector<int>& cams = config.decoder.cams;
  const auto cam = std::find(cams.begin(), cams.end(), index);
  circuits.push_back({InputIndex(config, channel.terminal), Use::kTrigger, index,
                      cam == cams.end() ? -1 : static_cast<int>(cam - cams.begin()),
                      index == config.decoder.primary, channel.edge == profile::ActiveEdge::kRising,
                      channel.both_edges, channel.by_level, Comparator::For(channel)});
}

void Controller::Impl::Connect() {
  circuits_at.resize(config.inputs.size());
  next_ns.assign(circuits.size(), kNever);
  for (std::size_t i = 0; i < circuits.size(); ++i) {
    if (circuits[i].input >= 0) Nth(circuits_at, circuits[i].input).push_back(i);
  }
}

// At one instant in the order of the channels.
Controller::Impl::Circuit* Controller::Impl::EarliestUpTo(TimeNs t_ns) {
  const auto earliest = std::ranges::min_element(next_ns);
  if (earliest == next_ns.end() || *earliest > t_ns) return nullptr;
  return &circuits[AsSize(earliest - next_ns.begin())];
}

void Controller::Impl::WorkEdge(Circuit& circuit) {
  const TimeNs t_ns = circuit.comparator.next_ns();
  const bool high = circuit.comparator.Take();
  Nth(next_ns, &circuit - circuits.data()) = circuit.comparator.next_ns();
  plan.Advance(t_ns);
  if (circuit.use == Use::kFrequency) {
    if (powered) Nth(frequency, circuit.index).OnEdge(t_ns, high);
    return;
  }
  if (edges.size() < edges.capacity()) {
    edges.push_back({t_ns, circuit.index, high});
  } else {
    ++dropped_edges;
  }
  if (!powered) return;
  if (high == circuit.active_high) return OnActiveEdge(circuit, t_ns);
  if (circuit.both && circuit.cam >= 0) OnCamEdge(circuit, t_ns, true);
}

void Controller::Impl::OnCamEdge(const Circuit& circuit, TimeNs t_ns, bool other) {
  decoder.OnCamEdge(circuit.cam, t_ns, other);
  if (!decoder.may_fire()) plan.Cancel();
}

// The active edge stands for a tooth's begin, or for its end.
void Controller::Impl::SeeLevels() {
  for (const Circuit& circuit : circuits) {
    if (!circuit.by_level || circuit.cam < 0) continue;
    const bool active = circuit.comparator.level() == circuit.active_high;
    const bool at_end =
        Nth(config.triggers, circuit.index).point == profile::ToothPoint::kEnd;
    decoder.SeeLevel(circuit.cam, active != at_end);
  }
}

void Controller::Impl::OnActiveEdge(const Circuit& circuit, TimeNs t_ns) {
  if (circuit.primary) {
    if (decoder.by_level()) SeeLevels();
    decoder.OnCrankEdge(t_ns);
    const bool runs = decoder.may_fire() &&
                      decoder.speed_rpm() <= protections.LimitRpm(config.decoder.rev_limit_rpm);
    if (runs) {
      plan.OnPosition(t_ns, decoder.position_deg(), decoder.deg_per_ns(), decoder.to_next_deg());
    } else {
      if (decoder.came_early()) plan.TakeBack(t_ns);
      plan.Cancel();
    }
  } else if (circuit.cam >= 0) {
    OnCamEdge(circuit, t_ns, false);
  }
}

void Controller::Impl::NoSupply(TimeNs t_ns) {
  powered = false;
  decoder.Stop(SyncReason::kNoSupply);
  plan.SwitchOff(t_ns);
  protections.LetGo();
  SwitchOutputs(t_ns, false);
  for (AnalogInput& input : analog) input.NoSupply();
  for (FrequencyInput& input : frequency) input.NoSupply(t_ns);
}

// Once per sample, when all values are new.
void Controller::Impl::Protect(TimeNs t_ns) {
  std::vector<Guard>& guards = protections.guards();
  if (guards.empty()) return;
  const double rpm = decoder.speed_rpm();
  for (std::size_t i = 0; i < guards.size(); ++i) {
    guards[i].OnSample(t_ns, ValueOf(watched[i]), rpm);
  }
  plan.Cut(OutputKind::kCoil, protections.Acts(profile::ProtectionAction::kSparkCut));
  plan.Cut(OutputKind::kInjector, protections.Acts(profile::ProtectionAction::kFuelCut));
  SwitchOutputs(t_ns, decoder.state() != SyncState::kStopped);
}

// An output that a protection switches off is on while the engine turns.
void Controller::Impl::SwitchOutputs(TimeNs t_ns, bool turns) {
  for (Switched& one : switched) {
    const bool on = turns && !protections.IsOff(one.output);
    if (on != one.on) plan.SwitchOutput(t_ns, one.output, on);
    one.on = on;
  }
}

double Controller::Impl::ValueOf(int index) const {
  const int fixed = static_cast<int>(profile::OwnValues().size());
  if (index < fixed) return FixedValue(index);
  const int cams = static_cast<int>(config.decoder.cams.size());
  if (index < fixed + cams) return decoder.cam_angle_deg(index - fixed);
  const auto at = AsSize(index - fixed - cams);
  const std::size_t channels = analog.size() + frequency.size();
  if (at >= 2 * channels) return protections.guards()[at - 2 * channels].acts() ? 1 : 0;
  const bool fault = at % 2 == 1;
  const auto of = [fault](const auto& input) {
    return fault ? static_cast<double>(input.fault()) : input.value();
  };
  if (at / 2 < analog.size()) return of(analog[at / 2]);
  return of(frequency[at / 2 - analog.size()]);
}

std::int64_t Controller::Impl::SensorFaults() const {
  std::int64_t count = 0;
  for (const AnalogInput& input : analog) count += input.faults();
  for (const FrequencyInput& input : frequency) count += input.faults();
  return count;
}

double Controller::Impl::FixedValue(int index) const {
  switch (index) {
    case 0:
      return decoder.speed_rpm();
    case 1:
      return static_cast<double>(decoder.state());
    case 2:
      return static_cast<double>(decoder.losses());
    case 3:
      return static_cast<double>(decoder.reason());
    case 4:
      return supply_v;
    case 5:
      return static_cast<double>(decoder.cycles());
    case 6:
      return static_cast<double>(plan.injections());
    case 7:
      return static_cast<double>(plan.ignitions());
    default:
      return static_cast<double>(SensorFaults());
  }
}

Controller::Controller(const profile::Bench& bench) : impl_(std::make_unique<Impl>(bench)) {}
Controller::~Controller() = default;
Controller::Controller(Controller&&) noexcept = default;

void Controller::OnWave(int input, const Wave& piece) {
  for (const std::size_t i : Nth(impl_->circuits_at, input)) {
    Comparator& comparator = impl_->circuits[i].comparator;
    comparator.OnPiece(piece);
    impl_->next_ns[i] = comparator.next_ns();
  }
}

void Controller::OnSample(TimeNs t_ns, std::span<const double> input_v, double supply_v,
                          std::span<const double> reference_v) {
  Advance(t_ns);
  Impl& impl = *impl_;
  impl.now_ns = t_ns;
  impl.supply_v = supply_v;
  if (supply_v < impl.config.min_supply_v) {
    impl.NoSupply(t_ns);
    return;
  }
  impl.powered = true;
  const double scale = ReferenceScale(impl.config, reference_v);
  for (std::size_t i = 0; i < impl.analog.size(); ++i) {
    const int input = impl.analog_inputs[i];
    if (input >= 0) impl.analog[i].OnSample(t_ns, Nth(input_v, input), scale);
  }
  impl.Protect(t_ns);
}

void Controller::ConvertOnly(std::span<const int> inputs) {
  for (int& input : impl_->analog_inputs) {
    if (std::find(inputs.begin(), inputs.end(), input) == inputs.end()) input = -1;
  }
}

void Controller::Advance(TimeNs t_ns) {
  Impl& impl = *impl_;
  while (Impl::Circuit* circuit = impl.EarliestUpTo(t_ns)) impl.WorkEdge(*circuit);
  impl.plan.Advance(t_ns);
  if (!impl.powered) return;
  impl.decoder.Advance(t_ns);
  if (impl.decoder.state() == SyncState::kStopped) impl.plan.Cancel();
  for (FrequencyInput& input : impl.frequency) input.Advance(t_ns);
}

int Controller::ValueIndex(std::string_view name) const {
  const auto found = std::find(impl_->names.begin(), impl_->names.end(), name);
  return found == impl_->names.end() ? -1 : static_cast<int>(found - impl_->names.begin());
}

double Controller::Value(int index) const {
  return index < 0 || index >= static_cast<int>(impl_->names.size()) ? 0 : impl_->ValueOf(index);
}

SyncState Controller::sync_state() const { return impl_->decoder.state(); }
SyncReason Controller::sync_reason() const { return impl_->decoder.reason(); }
bool Controller::powered() const { return impl_->powered; }

std::span<const OutputEvent> Controller::TakeOutputs() {
  impl_->taken_events.swap(impl_->plan.events());
  impl_->plan.events().clear();
  return impl_->taken_events;
}

std::span<const Edge> Controller::TakeEdges() {
  impl_->taken_edges.swap(impl_->edges);
  impl_->edges.clear();
  return impl_->taken_edges;
}

void Controller::SetCalibration(const std::string& channel,
                                const profile::fault::Calibration& table, bool in_force) {
  const int index = profile::IndexOf(impl_->config.analog, channel);
  if (index < 0) return;
  Nth(impl_->analog, index).SetCalibration(in_force ? table.gain : 1, in_force ? table.value : 0);
}

// What it does at its outputs ends; what is counted begins anew.
void Controller::Impl::SetUpAnew() {
  plan.SwitchOff(now_ns);
  own = config;
  for (const profile::Fault& fault : told) profile::Tell(fault, *own);
  std::vector<OutputEvent> events = std::move(plan.events());
  decoder = Decoder(*own);
  plan = FiringPlan(own->decoder);
  plan.events() = std::move(events);
  for (Circuit& circuit : circuits) {
    if (circuit.use != Use::kTrigger) continue;
    circuit.active_high = Nth(own->triggers, circuit.index).edge == profile::ActiveEdge::kRising;
  }
}

void Controller::SetTold(const profile::Fault& told, bool in_force) {
  const auto same = [&](const profile::Fault& f) {
    return f.at == told.at && profile::SettingOf(f) == profile::SettingOf(told);
  };
  std::erase_if(impl_->told, same);
  if (in_force) impl_->told.push_back(told);
  if (profile::IsOfProtection(profile::SettingOf(told))) {
    impl_->protections.Tell(impl_->told);
  } else {
    impl_->SetUpAnew();
  }
}

std::int64_t Controller::dropped() const {
  std::int64_t count = impl_->dropped_edges + impl_->plan.dropped();
  for (const Impl::Circuit& circuit : impl_->circuits) count += circuit.comparator.dropped();
  return count;
}

}  // namespace drycrank::standin
