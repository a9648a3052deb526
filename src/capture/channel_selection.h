// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// Which of the channels `names` the name `wanted` means: indices, rising. A
/// name fits whole; else but for blanks before a bit select such as [0]; else
/// without a select at its end; else by its leaf, the part after the last
/// point; else by its leaf without a select. The first of these rules that fits
/// any decides. This is the only place where a name is matched.
std::vector<std::size_t> matching_channels(std::span<const std::string> names,
                                           std::string_view wanted);

/// Which of the channels a file declares are meant by the names a user gives.
struct ChannelSelection {
  /// Per declared channel: the names given that mean it, in their order.
  std::vector<std::vector<std::string>> asked;
  /// Names given that mean none, each once.
  std::vector<std::string> missing;

  /// Indices of the channels that a name means, rising.
  std::vector<std::size_t> chosen() const;
};

/// Errors: kUsage when a name means several channels, listing them; kBadData
///         when it means none and these are not skipped, listing those there
///         are, nearest first.
Result<ChannelSelection> select_channels(std::span<const std::string> names,
                                         std::span<const std::string> wanted,
                                         bool skip_missing);

}  // namespace clockassay
