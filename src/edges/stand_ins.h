// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Edges that may stand in for lost ones: where a pulse of the clock is lost
/// and an extra one comes by chance, one of its edges may fit the cycle, and
/// the other does not. So those are suspect whose neighbour in the capture is
/// an extra edge where the clock's own next (or last) edge should be.
/// In:     both polarities of one part of a stretch, and the ticks of the edges
///         left out there, each in time order
/// Out:    ticks of suspects, in time order
std::vector<std::int64_t> suspect_edges(const ExplicitEdges& edges,
                                        const std::vector<std::int64_t>& extra);

}  // namespace clockassay
