// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "capture/vcd_body.h"
#include "capture/vcd_header.h"
#include "clockassay/base/result.h"
#include "clockassay/base/warning.h"

namespace clockassay {

/// The channels of a VCD and which of them are read.
struct VcdChannels {
  std::vector<std::string> names;     ///< all one-bit variables
  std::vector<std::string> selected;  ///< in file order
  std::vector<std::size_t> net;       ///< per selected one; aliases share it
  VcdNets nets;
  std::vector<Warning> warnings;
};

/// Chooses from the variables of a header those that `wanted` names; when it
/// is empty, all of one bit, each net by its first name.
/// Errors: kBadData: no such variable, one that cannot be a clock, none at all.
Result<VcdChannels> choose_vcd_channels(const VcdHeader& header,
                                        const std::vector<std::string>& wanted);

}  // namespace clockassay
