// SPDX-License-Identifier: Apache-2.0
#include "tools/display_camera.h"

#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <future>

#include "io/camera.h"
#include "picture/camera_frame.h"
#include "tools/commands.h"
#include "tools/keyboard.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kSliceNs = 20 * kNsPerMs;

std::string NameOf(const sweep::Question& question, const std::string& ending) {
  return fmt::format("page{}_question{}.{}", question.page, question.question, ending);
}

bool IsThere(const std::string& folder, const sweep::Question& question) {
  std::error_code none;
  for (const char* ending : {"jpg", "ppm"}) {
    if (std::filesystem::exists(folder + "/" + NameOf(question, ending), none)) return true;
  }
  return false;
}

// The camera takes its time, and the bus goes on meanwhile.
io::TakenFrame Take(const std::string& camera, EchoScreen& screen) {
  auto taken = std::async(std::launch::async, [&camera] { return io::TakeFrame(camera); });
  while (taken.wait_for(std::chrono::seconds(0)) != std::future_status::ready) {
    screen.Play(screen.now_ns() + kSliceNs);
  }
  return taken.get();
}

std::string TakeOne(const sweep::Question& question, const std::string& camera,
                    const std::string& folder, EchoScreen& screen) {
  const io::TakenFrame taken = Take(camera, screen);
  if (!taken.frame) return taken.problem;
  const picture::PictureFile file = picture::PictureOf(*taken.frame);
  if (!file.problem.empty()) return fmt::format("{}: {}", camera, file.problem);
  const std::string path = folder + "/" + NameOf(question, file.ending);
  const std::string problem = WriteFile(path, file.bytes);
  if (problem.empty()) fmt::print("  {}\n", path);
  return problem;
}

}  // namespace

std::string TakePictures(const profile::Bench& bench, const std::vector<profile::Readout>& readouts,
                         const std::string& camera, const std::string& folder, EchoScreen& screen) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return fmt::format("make {}: {}", folder, error.message());
  Keyboard keyboard(screen);
  for (const sweep::Question& question : sweep::QuestionsOf(readouts)) {
    if (IsThere(folder, question)) continue;
    sweep::SendQuestion(bench, question, screen);
    fmt::print("Page {}, question {} of {}: let it show that page, then press Enter.\n",
               question.page, question.question, sweep::kQuestions);
    std::fflush(stdout);
    if (!keyboard.Line()) return {};
    if (std::string why = TakeOne(question, camera, folder, screen); !why.empty()) return why;
  }
  return {};
}

}  // namespace drycrank::tools
