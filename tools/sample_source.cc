// SPDX-License-Identifier: Apache-2.0
#include "tools/sample_source.h"

#include <fmt/format.h>

#include <filesystem>
#include <utility>

#include "capture/wav_trace.h"
#include "io/alsa_capture.h"

namespace drycrank::tools {
namespace {

constexpr int kWaitMs = 20;

class WavSource : public SampleSource {
 public:
  WavSource(std::string name, std::unique_ptr<capture::Trace> trace)
      : name_(std::move(name)), trace_(std::move(trace)) {}
  std::string Description() const override { return name_; }
  double rate_hz() const override { return trace_->info().rate_hz; }
  int channels() const override { return static_cast<int>(trace_->info().channels.size()); }
  Came Read(std::vector<float>& samples) override {
    if (!trace_->Next(block_)) return Came::kEnd;
    std::swap(samples, block_.values);
    return Came::kSome;
  }
  std::string problem() const override {
    return trace_->problem() ? Format(*trace_->problem()) : "";
  }

 private:
  std::string name_;
  std::unique_ptr<capture::Trace> trace_;
  capture::TraceBlock block_;
};

class CardSource : public SampleSource {
 public:
  CardSource(const std::string& device, int rate_hz, int channels)
      : card_(device), device_(device), rate_hz_(rate_hz), channels_(channels) {}
  std::string Open() { return card_.Open(rate_hz_, channels_); }
  std::string Description() const override { return fmt::format("sound card '{}'", device_); }
  double rate_hz() const override { return rate_hz_; }
  int channels() const override { return channels_; }
  bool is_live() const override { return true; }
  bool TakeLost() override { return card_.TakeLost(); }
  std::string problem() const override { return problem_; }
  Came Read(std::vector<float>& samples) override {
    problem_ = card_.Read(kWaitMs, samples);
    if (!problem_.empty()) return Came::kEnd;
    return samples.empty() ? Came::kNothing : Came::kSome;
  }

 private:
  io::AlsaCapture card_;
  std::string device_, problem_;
  int rate_hz_, channels_;
};

bool IsFile(const std::string& where) {
  std::error_code error;
  return where == "-" || where.ends_with(".wav") || std::filesystem::exists(where, error);
}

OpenedSource OpenFile(const std::string& where) {
  const std::string path = where == "-" ? "/dev/stdin" : where;
  std::error_code error;
  if (!std::filesystem::exists(path, error)) return {nullptr, "there is no file " + where, true};
  capture::OpenedTrace opened = capture::OpenWav(path, capture::WavFrom::kPipeToo);
  if (!opened.trace) return {nullptr, Format(*opened.problem), true};
  const std::string name = where == "-" ? "standard input" : where;
  return {std::make_unique<WavSource>(name, std::move(opened.trace)), "", false};
}

}  // namespace

OpenedSource OpenSource(const std::string& where, int rate_hz, int channels) {
  if (IsFile(where)) return OpenFile(where);
  auto card = std::make_unique<CardSource>(where, rate_hz, channels);
  if (std::string problem = card->Open(); !problem.empty()) return {nullptr, problem, false};
  return {std::move(card), "", false};
}

}  // namespace drycrank::tools
