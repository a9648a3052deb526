// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// Memory that was given back is used again instead of being returned to the
/// system, which would clear it anew for the next one. Once, at the start.
void keep_freed_memory();

}  // namespace clockassay
