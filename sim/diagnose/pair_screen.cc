// SPDX-License-Identifier: Apache-2.0
#include "diagnose/pair_screen.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "diagnose/electrical.h"
#include "diagnose/rank.h"
#include "standin/channel.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr std::size_t kMostCases = 5, kMostSurprising = 40;
constexpr auto kCap = static_cast<float>(0.5 * kCapZ * kCapZ);
constexpr double kEndlessV = 1e9;

// The volts for a value by the channel's table, and volts per unit there; a value at the table's
// end stands for all volts beyond.
struct Inverse {
  double low_v = 0, high_v = 0, v_per_unit = 0;
};
bool Invert(const Points& points, double value, double near, Inverse& out) {
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [v0, y0] = points[i - 1];
    const auto& [v1, y1] = points[i];
    const bool last = i + 1 == points.size(), first = i == 1;
    const double low = std::min(y0, y1), high = std::max(y0, y1);
    if (y0 == y1 || value < low - near || value > high + near) continue;
    if ((value < low || value > high) && !first && !last) continue;
    const double v = v0 + (v1 - v0) * (std::clamp(value, low, high) - y0) / (y1 - y0);
    out = {v, v, std::abs((v1 - v0) / (y1 - y0))};
    if (first && std::abs(value - y0) <= near) out.low_v = -kEndlessV;
    if (last && std::abs(value - y1) <= near) out.high_v = kEndlessV;
    return true;
  }
  return false;
}

}  // namespace

PairScreen::PairScreen(const profile::Bench& bench, Predictor& predictor,
                       std::span<const Hypothesis> hypotheses, const Observation& observed,
                       const std::vector<std::vector<double>>& costs,
                       std::span<const std::size_t> order)
    : bench_(bench),
      predictor_(predictor),
      hypotheses_(hypotheses),
      observed_(observed),
      costs_(costs) {
  // Which readings tell of each analogue channel: its value, and its fault.
  for (const profile::AnalogChannel& channel : bench.controller->analog) {
    int value = -1, fault = -1;
    for (std::size_t r = 0; r < predictor.readings().size(); ++r) {
      const Reading& reading = predictor.readings()[r];
      if (reading.carries == channel.name) value = static_cast<int>(r);
      if (reading.carries == channel.name + ".fault") fault = static_cast<int>(r);
    }
    value_readings_.push_back(value);
    fault_readings_.push_back(fault);
  }
  ChooseCells(order);

  // The pairs' volts, of hypotheses that are an edit of the network and small enough.
  const HealthyElectrical& healthy = predictor.electrical();
  std::vector<harness::Edit> edits;
  for (const Hypothesis& hypothesis : hypotheses) {
    const auto edit = harness::EditOf(bench, healthy.variants().topology(), hypothesis.faults);
    in_pairs_.push_back(edit && harness::Pairs::Holds(*edit));
    edits.push_back(in_pairs_.back() ? *edit : harness::Edit{});
  }
  std::vector<harness::DeviceValues> cases;
  for (const std::size_t s : cases_) cases.push_back(healthy.devices(s));
  pairs_ = std::make_unique<harness::Pairs>(healthy.variants(), edits, cases, cells_);

  // Costs without a fault: of each cell, and of all readings that are no cell.
  std::vector<float> volts;
  for (std::size_t i = 0; i < cells_.size(); ++i) {
    const Electrical& at = healthy.at(cases_[cells_[i].which_case]);
    volts.push_back(static_cast<float>(Nth(at.input_v, cells_[i].input)));
  }
  healthy_cells_.resize(cells_.size());
  CellCosts(volts, healthy_cells_);
  double others = 0;
  for (std::size_t s = 0; s < costs.size(); ++s) {
    for (std::size_t r = 0; r < costs[s].size(); ++r) {
      if (cell_of_[s][r] < 0) others += costs[s][r];
    }
  }
  healthy_others_ = static_cast<float>(others);
  // And what each fault alone adds to that.
  zeros_.resize(predictor.readings().size(), 0);
  for (std::size_t h = 0; h < hypotheses.size(); ++h) Sweep(h);
}

// Nothing is known when no value came, or one that the controller puts in place of a bad one and
// does not say so.
bool PairScreen::WindowOf(std::size_t channel, std::size_t situation, Window& window) const {
  const profile::AnalogChannel& config = bench_.controller->analog[channel];
  const int v = value_readings_[channel], f = fault_readings_[channel];
  const auto seen = [&](int r) { return Nth(observed_[situation], r); };
  // A fault of the channel says beyond which limit the volts are, and no more.
  const double fault = f < 0 ? std::nan("") : seen(f);
  if (fault == double(standin::ChannelFault::kSignalLow)) {
    window = {-static_cast<float>(kEndlessV), static_cast<float>(config.low_v), 100};
    return true;
  }
  if (fault == double(standin::ChannelFault::kSignalHigh)) {
    window = {static_cast<float>(config.high_v), static_cast<float>(kEndlessV), 100};
    return true;
  }
  // A value, through the channel's table: the volts it comes from, and as many more on either side
  // as cost nothing.
  if (v < 0 || !std::isfinite(seen(v))) return false;
  const double value = seen(v);
  const double sigma = std::max(Nth(predictor_.readings(), v).sigma, 1e-9);
  if (std::isnan(fault) && std::abs(value - config.fallback) < 2 * sigma) return false;
  Inverse inverse;
  if (!Invert(config.value_at_volts, value, 2 * sigma, inverse)) return false;
  const double sigma_v = std::max(sigma * inverse.v_per_unit, 1e-4);
  window.low_v = static_cast<float>(std::max(inverse.low_v - kWithinZ * sigma_v, -kEndlessV));
  window.high_v = static_cast<float>(std::min(inverse.high_v + kWithinZ * sigma_v, kEndlessV));
  window.weight = static_cast<float>(1 / sigma_v);
  return true;
}

// All channels in the first situation; elsewhere those that surprise most.
void PairScreen::ChooseCells(std::span<const std::size_t> order) {
  cell_of_.assign(costs_.size(), std::vector<int>(predictor_.readings().size(), -1));
  cases_.push_back(0);
  for (const std::size_t s : order) {
    if (cases_.size() < kMostCases && s != 0) cases_.push_back(s);
  }
  // What the two readings of each channel cost in each case.
  struct Choice {
    double cost;
    std::size_t which_case, channel;
  };
  std::vector<Choice> choices;
  for (std::size_t c = 0; c < cases_.size(); ++c) {
    for (std::size_t channel = 0; channel < value_readings_.size(); ++channel) {
      double cost = 0;
      for (const int r : {value_readings_[channel], fault_readings_[channel]}) {
        if (r >= 0) cost += Nth(costs_[cases_[c]], r);
      }
      choices.push_back({c == 0 ? 1e9 : cost, c, channel});
    }
  }
  // The dearest ones, in the order of their cases as Pairs wants them.
  std::stable_sort(choices.begin(), choices.end(),
                   [](const Choice& a, const Choice& b) { return a.cost > b.cost; });
  choices.resize(std::min(choices.size(), value_readings_.size() + kMostSurprising));
  std::stable_sort(choices.begin(), choices.end(),
                   [](const Choice& a, const Choice& b) { return a.which_case < b.which_case; });
  // A cell of each that says anything; its readings are that cell's from here on.
  for (const Choice& choice : choices) {
    Window window;
    const int input =
        standin::InputIndex(*bench_.controller, bench_.controller->analog[choice.channel].terminal);
    const std::size_t s = cases_[choice.which_case];
    if (input < 0 || !WindowOf(choice.channel, s, window)) continue;
    for (const int r : {value_readings_[choice.channel], fault_readings_[choice.channel]}) {
      if (r >= 0) Nth(cell_of_[s], r) = static_cast<int>(cells_.size());
    }
    cells_.push_back({choice.which_case, input});
    windows_.push_back(window);
  }
}

float PairScreen::Window::CostAt(float v) const {
  const float off = std::max({low_v - v, v - high_v, 0.0f}) * weight;
  return std::min(0.5f * off * off, kCap);
}

void PairScreen::CellCosts(std::span<const float> volts, std::span<float> costs) const {
  for (std::size_t i = 0; i < windows_.size(); ++i) costs[i] = windows_[i].CostAt(volts[i]);
}

float PairScreen::CostOf(std::span<const float> volts) const {
  float sum = 0;
  for (std::size_t i = 0; i < windows_.size(); ++i) sum += windows_[i].CostAt(volts[i]);
  return sum;
}

// One fault alone, in full.
void PairScreen::Sweep(std::size_t hypothesis) {
  const std::size_t cells = cells_.size(), readings = predictor_.readings().size();
  cell_costs_.insert(cell_costs_.end(), healthy_cells_.begin(), healthy_cells_.end());
  others_.resize(others_.size() + readings, 0);
  float* of_cells = cell_costs_.data() + hypothesis * cells;
  float* of_readings = others_.data() + hypothesis * readings;
  // What it moves, by its own prediction: readings that are cells, and the others.
  Trial trial(predictor_, hypotheses_[hypothesis].faults);
  std::vector<bool> moved(cells, false);
  std::vector<float> moved_to(cells, 0);
  for (std::size_t s = 0; s < costs_.size(); ++s) {
    for (const Change& change : trial.Changes(s)) {
      const auto r = static_cast<std::size_t>(change.reading);
      const Reading& reading = predictor_.readings()[r];
      if (reading.turning && predictor_.situations()[s].engine_rpm() <= 0) continue;
      const double z = Surprise(reading, observed_[s][r], change.predicted);
      const double cost = Cost(z);
      const int cell = cell_of_[s][r];
      if (cell < 0) {
        of_readings[r] += static_cast<float>(cost - costs_[s][r]);
      } else {
        Nth(moved, cell) = true;
        Nth(moved_to, cell) += static_cast<float>(cost);
      }
    }
  }
  // Its cells' costs: from volts as a pair's are, or else from that prediction.
  if (in_pairs_[hypothesis]) {
    std::vector<float> volts(cells);
    pairs_->Volts(hypothesis, hypothesis, volts);
    CellCosts(volts, {of_cells, cells});
    return;
  }
  for (std::size_t i = 0; i < cells; ++i) {
    if (moved[i]) of_cells[i] = moved_to[i];
  }
}

// Where only one of the two moves something, its cost; where both do, the lower.
float PairScreen::Together(const float* a, const float* b, const float* healthy,
                           std::size_t count) const {
  float sum = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const float lower = std::min(a[i], b[i]);
    const float one = b[i] == healthy[i] ? a[i] : lower;
    sum += a[i] == healthy[i] ? b[i] : one;
  }
  return sum;
}

std::vector<FaultPair> PairScreen::Best(std::size_t most) const {
  const std::size_t cells = cells_.size(), readings = zeros_.size();
  const auto worse = [](const FaultPair& x, const FaultPair& y) {
    return x.log_weight > y.log_weight;
  };
  std::vector<FaultPair> best;  // a heap, the worst on top
  double least = -std::numeric_limits<double>::infinity();
  std::vector<double> priors;
  for (const Hypothesis& hypothesis : hypotheses_) priors.push_back(std::log(hypothesis.prior));
  std::vector<float> volts(cells);
  for (std::size_t a = 0; a < hypotheses_.size(); ++a) {
    for (std::size_t b = a + 1; b < hypotheses_.size(); ++b) {
      // What is no cell first: it is cheap, and most pairs end here.
      const double prior = priors[a] + priors[b];
      const float others =
          healthy_others_ + Together(others_.data() + a * readings, others_.data() + b * readings,
                                     zeros_.data(), readings);
      double log_weight = prior - std::max(others, 0.0f);
      if (log_weight <= least) continue;
      // The cells.
      if (in_pairs_[a] && in_pairs_[b]) {
        pairs_->Volts(a, b, volts);
        log_weight -= CostOf(volts);
      } else {
        log_weight -= Together(cell_costs_.data() + a * cells, cell_costs_.data() + b * cells,
                               healthy_cells_.data(), cells);
      }
      if (log_weight <= least) continue;
      // Two of one kind at one place: as a rule one fault in two sizes. Kept: the `most` best.
      const profile::Fault &one = hypotheses_[a].faults[0], &other = hypotheses_[b].faults[0];
      if (one.kind.index() == other.kind.index() && one.at == other.at) continue;
      best.push_back({log_weight, a, b});
      std::push_heap(best.begin(), best.end(), worse);
      if (best.size() <= most) continue;
      std::pop_heap(best.begin(), best.end(), worse);
      best.pop_back();
      least = best.front().log_weight;
    }
  }
  std::sort(best.begin(), best.end(), worse);
  return best;
}

}  // namespace drycrank::diagnose
