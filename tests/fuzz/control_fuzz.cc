// SPDX-License-Identifier: Apache-2.0
//
// Requests to the daemon, one a line, between which 20 ms pass: each is answered by one line of JSON,
// and the run goes on to the very instant.
#include <nlohmann/json.hpp>

#include "daemon/daemon.h"
#include "daemon/handler.h"
#include "profile/load.h"
#include "tests/fuzz/fuzz.h"

namespace drycrank::fuzz {
namespace {

constexpr int kMostRequests = 20;

void Converse(const profile::Bench& bench, Bytes bytes) {
  const profile::Scenario scenario = daemon::LiveScenario();
  run::RunOptions options;
  options.endless = true;
  run::Runner runner(bench, scenario, options);
  runner.Start();
  const std::vector<bus::CanBus*> interfaces;
  daemon::Handler handler(bench, runner, interfaces, [] {});
  for (int i = 0; i < kMostRequests && !bytes.empty(); ++i) {
    const auto line = bytes.TakeLine();
    const std::string reply = handler.Reply(daemon::ParseRequest(line), 1);
    Require(nlohmann::json::accept(reply), "a reply is JSON");
    Require(reply.find('\n') == reply.size() - 1, "a reply is one line");
    const TimeNs due_ns = runner.now_ns() + 20 * kNsPerMs;
    runner.RunTo(due_ns);
    Require(runner.now_ns() == due_ns, "the run goes on");
    Require(runner.failure().empty(), "the run does not fail");
    handler.EndOverdue();
  }
  handler.Gone(1);
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  static const auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
  fuzz::Require(loaded.bench.has_value(), "the shipped bench is loaded");
  if (size <= 4096) fuzz::Converse(*loaded.bench, {data, size});
  return 0;
}
