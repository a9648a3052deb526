// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <string>
#include <vector>

namespace clockassay {

/// Whether `asked` is a channel's name, or one it was asked for by.
inline bool is_meant(const std::string& asked, const std::string& name,
                     const std::vector<std::string>& names_asked) {
  return asked == name || std::find(names_asked.begin(), names_asked.end(),
                                    asked) != names_asked.end();
}

}  // namespace clockassay
