// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/series.h"

#include <algorithm>

namespace clockassay {

std::vector<BoardPoints> points_by_board(std::span<const DriftPoint> points) {
  std::vector<BoardPoints> boards;
  for (const DriftPoint& point : points) {
    auto at = std::find_if(
        boards.begin(), boards.end(),
        [&](const BoardPoints& b) { return b.board == point.board; });
    if (at == boards.end()) {
      boards.push_back({point.board, {}});
      at = boards.end() - 1;
    }
    at->points.push_back(point);
  }
  return boards;
}

}  // namespace clockassay
