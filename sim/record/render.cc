// SPDX-License-Identifier: Apache-2.0
#include "record/render.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <vector>

#include "output/sampled_wave.h"
#include "record/sound_disk.h"
#include "record/text_file.h"
#include "record/vcd.h"
#include "run/pace.h"
#include "run/runner.h"
#include "types/clock.h"
#include "types/nth.h"

namespace drycrank::record {
namespace {

// The least of 1, 2, 5, 10, 20, ... that is not below `peak_v`.
double ScaleFor(double peak_v) {
  for (double decade = 1;; decade *= 10) {
    for (const double step : {1.0, 2.0, 5.0}) {
      if (step * decade >= peak_v || decade > 1e6) return step * decade;
    }
  }
}

class WavWriter : public run::RunObserver {
 public:
  WavWriter(const profile::Bench& bench, const RenderOptions& options, const std::string& path)
      : options_(options), disk_(path) {
    for (const auto& trigger : bench.controller->triggers) {
      const auto& inputs = bench.controller->inputs;
      const auto at = std::find_if(inputs.begin(), inputs.end(), [&](const auto& input) {
        return input.terminal == trigger.terminal;
      });
      inputs_.push_back(static_cast<int>(at - inputs.begin()));
    }
    channels_.assign(inputs_.size(), output::SampledWave(options.sample_rate_hz));
    SF_INFO info{};
    info.samplerate = options.sample_rate_hz;
    info.channels = static_cast<int>(inputs_.size());
    info.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT;
    Open(SFM_WRITE, info);
  }

  void OnWave(int input, const Wave& piece) override {
    const auto at = std::find(inputs_.begin(), inputs_.end(), input);
    if (at == inputs_.end()) return;
    WriteUpTo(piece.begin_ns);
    Nth(channels_, at - inputs_.begin()).Add(piece);
  }
  void OnFinish(TimeNs t_ns) override {
    last_ = SamplesIn(t_ns);
    WriteUpTo(t_ns + FromSeconds((output::StepKernel::kHalf + 1.0) / options_.sample_rate_hz));
    Flush();
  }
  const std::string& problem() const { return disk_.problem(); }
  // Divides by the scale when it was left to us. After OnFinish.
  void Close() {
    disk_.Close();
    if (options_.full_scale_v > 0 || !problem().empty()) return;
    options_.full_scale_v = ScaleFor(peak_v_);
    Rescale();
    disk_.Close();
  }
  double full_scale_v() const { return options_.full_scale_v; }
  std::uint64_t samples() const { return next_; }
  std::uint64_t clipped() const { return clipped_; }

 private:
  SNDFILE* Open(int mode, SF_INFO& info) {
    SNDFILE* file = disk_.Open(mode, info);
    // The optional PEAK chunk carries the wall clock; without it equal runs give equal files.
    if (file != nullptr) sf_command(file, SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
    return file;
  }
  std::uint64_t SamplesIn(TimeNs t_ns) const {
    const auto rate = static_cast<std::uint64_t>(options_.sample_rate_hz);
    const auto seconds = static_cast<std::uint64_t>(t_ns / kNsPerS);
    const auto rest_ns = static_cast<std::uint64_t>(t_ns % kNsPerS);
    return seconds * rate + (rest_ns * rate + kNsPerS - 1) / static_cast<std::uint64_t>(kNsPerS);
  }
  void WriteUpTo(TimeNs t_ns) {
    std::uint64_t settled = last_;
    for (output::SampledWave& channel : channels_) {
      settled = std::min(settled, static_cast<std::uint64_t>(channel.Know(t_ns)));
    }
    for (; next_ < settled; ++next_) {
      for (output::SampledWave& channel : channels_) {
        buffer_.push_back(static_cast<float>(Level(channel.Next())));
      }
      if (buffer_.size() > 8192) Flush();
    }
  }
  // Volts as they are when the scale is not known yet.
  double Level(double volts) {
    peak_v_ = std::max(peak_v_, std::abs(volts));
    if (options_.full_scale_v <= 0) return volts;
    const double level = volts / options_.full_scale_v;
    if (std::abs(level) > 1) ++clipped_;
    return std::clamp(level, -1.0, 1.0);
  }
  void Rescale() {
    SF_INFO info{};
    SNDFILE* file = Open(SFM_RDWR, info);
    if (file == nullptr) return;
    std::vector<float> block(8192 * inputs_.size());
    for (sf_count_t at = 0; at < info.frames && problem().empty();) {
      sf_seek(file, at, SEEK_SET | SFM_READ);
      const sf_count_t frames = sf_readf_float(file, block.data(), 8192);
      for (float& level : block) level = static_cast<float>(level / options_.full_scale_v);
      sf_seek(file, at, SEEK_SET | SFM_WRITE);
      if (frames <= 0 || sf_writef_float(file, block.data(), frames) != frames) return;
      at += frames;
    }
  }
  void Flush() {
    const auto frames =
        static_cast<sf_count_t>(buffer_.size() / std::max<std::size_t>(1, inputs_.size()));
    if (disk_.file() != nullptr) sf_writef_float(disk_.file(), buffer_.data(), frames);
    buffer_.clear();
  }

  RenderOptions options_;
  SoundDisk disk_;
  double peak_v_ = 0;
  std::vector<int> inputs_;
  std::vector<output::SampledWave> channels_;
  std::vector<float> buffer_;
  std::uint64_t next_ = 0, clipped_ = 0;
  std::uint64_t last_ = std::numeric_limits<std::uint64_t>::max();  // known when it ends
};

// The samples of a WAV file, to the nearest of 24 bits. Empty, or what failed.
std::string WriteFlac(const std::string& wav, const std::string& flac) {
  SoundDisk from(wav), to(flac);
  SF_INFO info{};
  SNDFILE* source = from.Open(SFM_READ, info);
  if (source == nullptr) return from.problem();
  SF_INFO made{};
  made.samplerate = info.samplerate;
  made.channels = info.channels;
  made.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_24;
  SNDFILE* target = to.Open(SFM_WRITE, made);
  std::vector<float> block(8192 * AsSize(info.channels));
  sf_count_t left = target == nullptr ? 0 : info.frames;
  while (left > 0) {
    const sf_count_t frames = sf_readf_float(source, block.data(), 8192);
    if (frames <= 0 || sf_writef_float(target, block.data(), frames) != frames) break;
    left -= frames;
  }
  to.Close();
  for (const std::string& problem : {from.problem(), to.problem()}) {
    if (!problem.empty()) return problem;
  }
  return left == 0 ? "" : flac + ": not all samples could be written";
}

class SignalsWriter : public run::RunObserver {
 public:
  SignalsWriter(const profile::Bench& bench, run::Runner& runner, const std::string& path)
      : bench_(bench), runner_(runner), file_(path) {
    auto& out = file_.buffer();
    fmt::format_to(fmt::appender(out), "t_s");
    for (const auto& s : bench.stimuli) {
      fmt::format_to(fmt::appender(out), ",{} ({})", s.name, s.unit);
    }
    for (const auto& input : bench.controller->inputs) {
      fmt::format_to(fmt::appender(out), ",{} (V)", input.terminal);
    }
    file_.EndLine();
  }
  void OnSample(TimeNs t_ns) override {
    auto& out = file_.buffer();
    fmt::format_to(fmt::appender(out), "{:.6f}", ToSeconds(t_ns));
    for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
      fmt::format_to(fmt::appender(out), ",{:.6g}",
                     runner_.timeline().Value(static_cast<int>(i), t_ns));
    }
    for (const double v : runner_.input_v()) fmt::format_to(fmt::appender(out), ",{:.5f}", v);
    file_.EndLine();
    ++rows_;
  }
  std::string Close() { return file_.Close(); }
  std::uint64_t rows() const { return rows_; }

 private:
  const profile::Bench& bench_;
  run::Runner& runner_;
  TextFile file_;
  std::uint64_t rows_ = 0;
};

}  // namespace

RenderResult Render(const profile::Bench& bench, const profile::Scenario& scenario,
                    const RenderOptions& options, const std::string& folder) {
  RenderResult result;
  if (!bench.controller) {
    result.problem = "the bench has no controller section: there are no inputs to render";
    return result;
  }
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) {
    result.problem = folder + ": " + error.message();
    return result;
  }
  run::RunOptions run;
  run.seed = options.seed;
  run::Runner runner(bench, scenario, run);
  const EdgeChannels channels = EdgeChannelsOf(bench);
  VcdWriter vcd(channels, folder + "/edges.vcd");
  vcd.Begin(0, LevelsAtStart(channels));
  WavWriter wav(bench, options, folder + "/waveforms.wav");
  SignalsWriter signals(bench, runner, folder + "/signals.csv");
  for (run::RunObserver* observer :
       std::initializer_list<run::RunObserver*>{&vcd, &wav, &signals}) {
    runner.AddObserver(observer);
  }
  VirtualClock clock;
  runner.Start();
  run::Pace(runner, clock, {});
  wav.Close();
  if (options.flac && wav.problem().empty()) {
    result.problem = WriteFlac(folder + "/waveforms.wav", folder + "/waveforms.flac");
  }
  for (const std::string& problem : {vcd.Close(), wav.problem(), signals.Close()}) {
    if (result.problem.empty()) result.problem = problem;
  }
  result.edges = vcd.changes();
  result.samples = wav.samples();
  result.clipped = wav.clipped();
  result.full_scale_v = wav.full_scale_v();
  result.rows = signals.rows();
  return result;
}

}  // namespace drycrank::record
