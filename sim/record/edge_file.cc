// SPDX-License-Identifier: Apache-2.0
#include "record/edge_file.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "types/format_number.h"

namespace drycrank::record {
namespace {

constexpr std::size_t kDamageKept = 16;

std::string HeadOf(const EdgeChannels& channels) {
  nlohmann::ordered_json head;
  head["format"] = kEdgeFormat;
  head["unit"] = "ns";
  head["channels"] = nlohmann::ordered_json::array();
  for (const EdgeChannel& channel : channels) {
    nlohmann::ordered_json one{{"kind", Name(channel.kind)}, {"name", channel.name}};
    if (channel.kind != ChannelKind::kTrigger) one["cylinder"] = channel.cylinder;
    head["channels"].push_back(std::move(one));
  }
  return "h" + head.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::optional<EdgeChannel> ChannelFrom(const nlohmann::json& json) {
  if (!json.is_object()) return {};
  const auto kind = json.find("kind"), name = json.find("name"), cylinder = json.find("cylinder");
  if (kind == json.end() || name == json.end() || !name->is_string()) return {};
  for (const ChannelKind known :
       {ChannelKind::kTrigger, ChannelKind::kCoil, ChannelKind::kTrailingCoil,
        ChannelKind::kInjector, ChannelKind::kSwitch}) {
    if (*kind != Name(known)) continue;
    if (known == ChannelKind::kTrigger) return EdgeChannel{known, name->get<std::string>(), 0};
    if (cylinder == json.end() || !cylinder->is_number_integer()) return {};
    return EdgeChannel{known, name->get<std::string>(), cylinder->get<int>()};
  }
  return {};
}

std::uint32_t Number(const std::uint8_t* at) {
  return static_cast<std::uint32_t>(at[0]) | static_cast<std::uint32_t>(at[1]) << 8 |
         static_cast<std::uint32_t>(at[2]) << 16 | static_cast<std::uint32_t>(at[3]) << 24;
}

bool IsMark(std::span<const std::uint8_t> bytes) {
  return bytes.size() >= kBlockMark.size() &&
         std::equal(kBlockMark.begin(), kBlockMark.end(), bytes.begin());
}

}  // namespace

EdgeWriter::EdgeWriter(const EdgeChannels& channels, const std::string& path)
    : file_(path), block_(LevelsAtStart(channels)) {
  file_.HoldsBytes();
  const std::string head = HeadOf(channels);
  AppendBlock({reinterpret_cast<const std::uint8_t*>(head.data()), head.size()}, file_.buffer());
}

void EdgeWriter::Add(const ChannelEdge& edge) {
  if (block_.IsFull()) {
    Seal();
    file_.EndPiece();
  }
  block_.Add(edge);
}

EdgeReader::EdgeReader(std::istream& stream) : window_(stream) {
  if (IsMark(window_.Peek(kBlockHead))) {
    const auto content = Content();
    if (!content.empty() && content[0] == 'h' && damaged_ == 0) {
      ReadHead(content);
      return;
    }
  }
  problem_ = "no file of edges, or its head is damaged";
}

void EdgeReader::ReadHead(std::span<const std::uint8_t> content) {
  const auto head = nlohmann::json::parse(content.begin() + 1, content.end(), nullptr, false);
  problem_ = "the head of the edges makes no sense";
  if (!head.is_object() || !head.contains("format") || !head["format"].is_number_integer()) return;
  problem_ = WhyNotRead(head["format"].get<std::int64_t>(), kEdgeFormat);
  if (!problem_.empty()) {
    problem_ = "edges: " + problem_;
    return;
  }
  const auto channels = head.find("channels");
  if (channels == head.end() || !channels->is_array() || channels->size() > kMostEdgeChannels) {
    problem_ = "the head of the edges names no channels, or too many";
    return;
  }
  for (const auto& json : *channels) {
    const auto channel = ChannelFrom(json);
    if (!channel) problem_ = "the head of the edges has a channel that makes no sense";
    if (channel) channels_.push_back(*channel);
  }
}

bool EdgeReader::Next(ReadBlock& out) {
  if (!problem_.empty()) return false;
  for (auto content = Content(); !content.empty(); content = Content()) {
    if (content[0] != 'e') continue;
    auto block = ReadEdges(content, channels_.size());
    if (block) {
      out = std::move(*block);
      return true;
    }
    Note("a block whose content makes no sense");
  }
  return false;
}

std::span<const std::uint8_t> EdgeReader::Content() {
  window_.Skip(to_skip_);
  to_skip_ = 0;
  for (auto bytes = window_.Peek(kBlockHead); !bytes.empty(); bytes = window_.Peek(kBlockHead)) {
    if (!IsMark(bytes)) {
      Note("no begin of a block");
      SkipToMark();
      continue;
    }
    const std::uint32_t size = bytes.size() < kBlockHead ? 0 : Number(&bytes[4]);
    if (bytes.size() >= kBlockHead && size > 0 && size <= kLongestContent) {
      const auto block = window_.Peek(kBlockHead + size);
      if (block.size() >= kBlockHead + size) {
        const auto content = block.subspan(kBlockHead, size);
        if (Crc32c(content) == Number(&block[8])) {
          to_skip_ = kBlockHead + size;
          return content;
        }
      }
    }
    Note("a block is cut off or changed");
    window_.Skip(1);
    SkipToMark();
  }
  return {};
}

void EdgeReader::SkipToMark() {
  for (auto bytes = window_.Peek(kLongestContent); !bytes.empty();
       bytes = window_.Peek(kLongestContent)) {
    const auto at = std::search(bytes.begin(), bytes.end(), kBlockMark.begin(), kBlockMark.end());
    if (at != bytes.end()) {
      window_.Skip(static_cast<std::uint64_t>(at - bytes.begin()));
      return;
    }
    // The last three bytes may begin a mark, unless the stream ends with them.
    const bool is_end = bytes.size() < kLongestContent;
    window_.Skip(bytes.size() - (is_end ? 0 : kBlockMark.size() - 1));
  }
}

void EdgeReader::Note(const char* what) {
  ++damaged_;
  if (damage_.size() < kDamageKept) damage_.push_back({window_.offset(), what});
}

}  // namespace drycrank::record
