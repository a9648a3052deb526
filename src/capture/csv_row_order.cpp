// SPDX-License-Identifier: GPL-3.0-or-later
// What may follow a row in time: the part of CsvPieceParser that looks at two
// rows, whether a cut lies between them or not.
#include <algorithm>
#include <optional>
#include <string>

#include "capture/csv_rows.h"
#include "capture/exact_seconds.h"

namespace clockassay {
namespace {

// Two rising edges need a tick between them, where the store keeps the falling
// edge nobody saw.
constexpr std::int64_t kLeastEdgeStep = 2;

// Whether times that go back may be steps from row to row: above 0 and of one
// size. Chosen: a thousand. A counter that wraps goes back to nearly nothing, a
// row out of order by a little only, seen from an origin long before.
bool may_be_steps(Ticks before, Ticks next) {
  constexpr std::int64_t kSize = 1000;
  return next > Ticks(0) && before.count() / kSize <= next.count() &&
         (before - next).count() >= before.count() / kSize;
}

}  // namespace

Error CsvPieceParser::time_order_error(Ticks before, Ticks next,
                                       std::int64_t byte) const {
  Error error{ErrorCode::kBadData,
              "found the time " + exact_seconds(next, csv_.layout.grid.tick_s) +
                  " s after " + exact_seconds(before, csv_.layout.grid.tick_s) +
                  " s, expected times that do not decrease",
              "export the rows in the order of time; a counter that wraps is "
              "not read"};
  if (!csv_.columns.times_are_steps && may_be_steps(before, next)) {
    error.hint +=
        "; state --time-steps if every time counts from the row before";
  }
  error.byte = byte;
  return error;
}

std::optional<Error> CsvPieceParser::stamp_error(Ticks before, Ticks next,
                                                 std::int64_t byte) const {
  if (next < before) return time_order_error(before, next, byte);
  const std::int64_t step = (next - before).count();
  const std::int64_t least = least_step();
  const bool uneven = csv_.row_step && !csv_.row_step->samples(step);
  if (step >= least && !uneven) return std::nullopt;
  const auto seconds = [this](Ticks ticks) {
    return exact_seconds(ticks, csv_.layout.grid.tick_s) + " s";
  };
  const std::string both = "from " + seconds(before) + " to " + seconds(next);
  Error error{ErrorCode::kBadData, {}};
  error.byte = byte;
  if (step < least) {
    error.message = std::string("found ") +
                    (csv_.layout.rising_only ? "rising edges " : "edges ") +
                    both + ", expected at least " + seconds(Ticks(least)) +
                    " between two";
    error.hint = "write the times with more decimals, or state a finer --tick";
  } else {
    const auto interval_s =
        multiply(csv_.row_step->interval(), csv_.layout.grid.tick_s);
    error.message = "found a step of " + seconds(Ticks(step)) + " " + both +
                    ", expected " +
                    (interval_s ? exact_seconds(Ticks(1), *interval_s) : "") +
                    " s as between the first rows, which are samples, or a "
                    "multiple of it";
    error.hint =
        "state --rows changes if a row is written only when something changes";
  }
  return error;
}

std::int64_t CsvPieceParser::least_step() const {
  if (!csv_.columns.lone) return 0;
  return csv_.layout.rising_only ? kLeastEdgeStep : 1;
}

std::optional<MissingSamples> CsvPieceParser::missing_samples(
    Ticks before, Ticks next) const {
  if (!csv_.row_step) return std::nullopt;
  const auto samples = csv_.row_step->samples((next - before).count());
  if (!samples || *samples == 1) return std::nullopt;
  const Rational& interval = csv_.row_step->interval();
  const Int128 up = (interval.num() + interval.den() - 1) / interval.den();
  const Ticks first = before + Ticks(static_cast<std::int64_t>(up));
  return MissingSamples{std::min(first, next), *samples - 1};
}

}  // namespace clockassay
