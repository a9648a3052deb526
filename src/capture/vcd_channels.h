// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "capture/vcd_header.h"
#include "capture/vcd_nets.h"
#include "clockassay/base/result.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// The channels of a VCD and which of them are read.
struct VcdChannels {
  std::vector<std::string> names;         ///< all one-bit variables
  std::vector<BusName> buses;             ///< all whose bits can be read
  std::vector<SelectedChannel> selected;  ///< in file order
  std::vector<std::size_t> net;      ///< per selected one; aliases share it
  std::vector<std::string> missing;  ///< asked for and skipped
  VcdNets nets;
  std::vector<Warning> warnings;
};

/// Chooses from the variables of a header, and from the bits of its buses,
/// those that the options name; when they name none, all of one bit, each net
/// by its first name.
/// Errors: those of select_channels; kBadData: a variable that cannot be a
///         clock (even if missing ones are skipped: it is there), none at all.
Result<VcdChannels> choose_vcd_channels(const VcdHeader& header,
                                        const ReadOptions& options);

}  // namespace clockassay
