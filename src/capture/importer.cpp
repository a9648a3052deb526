// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/importer.h"

#include "capture/time_order.h"

namespace clockassay {

Error tick_order_error(Ticks before, Ticks next, std::int64_t byte) {
  Error error{ErrorCode::kBadData,
              "found time " + std::to_string(next.count()) + " after time " +
                  std::to_string(before.count()) +
                  ", expected times that do not decrease",
              "two captures in one file? split them; a damaged file must be "
              "recorded again"};
  error.byte = byte;
  return error;
}

Error PieceParser::time_order_error(Ticks before, Ticks next,
                                    std::int64_t byte) const {
  return tick_order_error(before, next, byte);
}

}  // namespace clockassay
