// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "capture/vcd_body.h"
#include "capture/vcd_channels.h"
#include "capture/vcd_header.h"
#include "clockassay/capture/importer.h"
#include "clockassay/capture/understanding.h"

namespace clockassay {

/// How a VCD was understood. `layout`: complete but for this; `values`: read up
/// to the first stamp of `prefix`. First records are stamps at which something
/// changes that is read, as far as the prefix reaches.
Understanding understand_vcd(std::string_view prefix, bool whole,
                             const VcdHeader& header,
                             const VcdChannels& channels,
                             const ReadOptions& options, const Layout& layout,
                             VcdBody values);

}  // namespace clockassay
