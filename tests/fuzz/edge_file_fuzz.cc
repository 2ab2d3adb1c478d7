// SPDX-License-Identifier: Apache-2.0
//
// edges.bin as bytes: what is read of it, written again, is read alike. And as edges: what was written
// comes back, and a file torn off keeps its whole blocks.
#include <sstream>
#include <string>

#include "record/edge_file.h"
#include "tests/fuzz/fuzz.h"

namespace drycrank::fuzz {
namespace {

using record::ChannelEdge;
using record::Level;

void AsBytes(std::string_view bytes) {
  std::istringstream stream{std::string(bytes)};
  record::EdgeReader reader(stream);
  for (record::ReadBlock block; reader.Next(block);) {
    record::EdgeBlock again(block.before);
    bool fits = true;
    for (const ChannelEdge& edge : block.edges) {
      fits = fits && !again.IsFull();
      if (fits) again.Add(edge);
    }
    if (!fits || block.edges.empty()) continue;
    fmt::memory_buffer out;
    again.Seal(out);
    const auto content = std::span(reinterpret_cast<const std::uint8_t*>(out.data()), out.size());
    const auto read = record::ReadEdges(content.subspan(record::kBlockHead), block.before.size());
    Require(read && read->edges == block.edges, "edges written again are read alike");
  }
}

void AsEdges(Bytes bytes) {
  const std::size_t channels = 1 + bytes.UpTo(7);
  record::EdgeBlock block(std::vector<Level>(channels, Level::kUnknown));
  std::vector<ChannelEdge> edges;
  while (!bytes.empty() && edges.size() < 5000) {
    edges.push_back({bytes.Take<TimeNs>() & (record::kLastEdgeNs - 1),
                     bytes.Take<std::uint8_t>() % channels, (bytes.Take<std::uint8_t>() & 1) != 0});
    block.Add(edges.back());
  }
  if (edges.empty()) return;
  fmt::memory_buffer out;
  block.Seal(out);
  const auto content = std::span(reinterpret_cast<const std::uint8_t*>(out.data()), out.size());
  const auto read = record::ReadEdges(content.subspan(record::kBlockHead), channels);
  Require(read && read->edges == edges, "edges come back");
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank::fuzz;
  AsBytes(TextOf(data, size));
  AsEdges({data, size});
  return 0;
}
