// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/judging.h"

#include <algorithm>

#include "app/input_source.h"

namespace clockassay {
namespace {

Result<Specification> read_file(const std::string& path) {
  const auto text = read_short_text(path);
  if (!text) return tl::unexpected(text.error());
  auto specification = parse_specification(*text);
  if (!specification) {
    Error error = specification.error();
    if (error.path.empty()) error.path = path;
    return tl::unexpected(error);
  }
  return specification;
}

Result<void> keep_only(Specification& specification,
                       const std::vector<std::string>& channels) {
  std::vector<ClockSpec> kept;
  for (const std::string& channel : channels) {
    const auto found = std::find_if(
        specification.clocks.begin(), specification.clocks.end(),
        [&channel](const ClockSpec& c) { return c.channel == channel; });
    if (found == specification.clocks.end()) {
      return failure(ErrorCode::kUsage,
                     "--channel: found \"" + channel +
                         "\", which no clock of the specification is on");
    }
    kept.push_back(*found);
  }
  specification.clocks = kept;
  return {};
}

void expect_on_each(Specification& specification,
                    const std::vector<std::string>& channels) {
  const ClockSpec clock = specification.clocks.front();
  specification.clocks.clear();
  for (const std::string& channel : channels) {
    specification.clocks.push_back(clock);
    specification.clocks.back().channel = channel;
    specification.clocks.back().name = channel;
  }
}

}  // namespace

Result<Specification> load_specification(
    const VerifyArguments& arguments,
    const std::vector<std::string>& channels) {
  auto specification =
      arguments.spec
          ? read_file(*arguments.spec)
          : specification_from_options(arguments.expect, arguments.tolerance,
                                       arguments.requirements);
  if (!specification || channels.empty()) return specification;
  if (arguments.spec) {
    if (auto kept = keep_only(*specification, channels); !kept) {
      return tl::unexpected(kept.error());
    }
  } else {
    expect_on_each(*specification, channels);
  }
  return specification;
}

std::vector<SettlingAsked> settling_of(const Specification& specification) {
  std::vector<SettlingAsked> settling;
  for (const ClockSpec& clock : specification.clocks) {
    if (clock.settle_within_s) {
      settling.push_back({clock.channel, *clock.settle_within_s});
    }
  }
  return settling;
}

std::vector<std::string> channels_of(const Specification& specification) {
  std::vector<std::string> channels;
  for (const ClockSpec& clock : specification.clocks) {
    if (!clock.channel) return {};
    channels.push_back(*clock.channel);
  }
  return channels;
}

}  // namespace clockassay
