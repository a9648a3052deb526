// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: the first byte chooses a parser of quantities, clock
// paths or what else is typed on a command line, the rest is its text.
#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <string_view>

#include "app/batch_list.h"
#include "app/kelvin_text.h"
#include "app/store_url.h"
#include "app/taken_at.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/oscillator/path_neighbours.h"
#include "clockassay/uncertainty/reference.h"
#include "clockassay/verdict/specification.h"
#include "fuzz/require.h"

namespace clockassay {
namespace {

/// Says what is wrong, and what would be right.
template <class T>
bool is_read(const Result<T>& result) {
  if (result) return true;
  require(!result.error().message.empty(), "an error without a message");
  return false;
}

void take_path(std::string_view text) {
  const auto path = parse_clock_path(text);
  if (!is_read(path)) return;
  require(path->frequency_hz.sign() > 0, "a clock that does not run");
  const auto again = parse_clock_path(clock_path_expression(*path));
  require(again.has_value(), "its own expression is not read");
  require(again->frequency_hz == path->frequency_hz,
          "its own expression is another clock");
  const auto neighbours = path_neighbours(*path);
  if (!is_read(neighbours)) return;
  for (const PathNeighbour& n : *neighbours) {
    const auto other = parse_clock_path(n.expression);
    // What leaves the range of clocks is none, though it can be written.
    if (other) {
      require(other->frequency_hz == n.frequency_hz,
              "a neighbour's expression is another clock");
    }
  }
}

void take_positive(const Result<Rational>& read) {
  if (is_read(read)) require(read->sign() > 0, "a quantity that is none");
}

void take_band(const Result<ToleranceBand>& read) {
  if (!is_read(read)) return;
  require(read->low_ppm.to_double() <= read->high_ppm.to_double(),
          "a band that is upside down");
}

void take_specification(std::string_view text) {
  const std::size_t cut = text.find('\n');
  const std::string expect(text.substr(0, cut));
  const std::string rest(cut == std::string_view::npos ? ""
                                                       : text.substr(cut + 1));
  is_read(specification_from_options(expect, "30ppm", {rest}));
}

using Take = void (*)(std::string_view);
constexpr std::array<Take, 16> kParsers = {
    take_path,
    [](std::string_view t) { take_positive(parse_frequency(t)); },
    [](std::string_view t) { take_positive(parse_sample_rate(t)); },
    [](std::string_view t) { is_read(parse_time(t)); },
    [](std::string_view t) { is_read(parse_capacitance(t)); },
    [](std::string_view t) { is_read(parse_temperature(t)); },
    [](std::string_view t) { is_read(parse_fraction(t)); },
    [](std::string_view t) { take_band(parse_tolerance(t)); },
    [](std::string_view t) { is_read(parse_temperature_range(t)); },
    [](std::string_view t) { is_read(parse_timebase(t)); },
    [](std::string_view t) { is_read(parse_reference(t)); },
    [](std::string_view t) { is_read(parse_kelvin_tolerance(t)); },
    [](std::string_view t) { is_read(parse_batch_list(t)); },
    [](std::string_view t) {
      const auto time = parse_utc(t);
      if (is_read(time)) require(std::isfinite(*time), "a time that is none");
    },
    [](std::string_view t) { is_read(check_store_url(std::string(t))); },
    take_specification};

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  using namespace clockassay;
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data + 1),
                              size - 1);
  kParsers[data[0] % kParsers.size()](text);
  return 0;
}
