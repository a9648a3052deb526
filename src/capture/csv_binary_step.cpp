// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_binary_step.h"

#include <algorithm>
#include <cstdlib>
#include <limits>
#include <optional>

#include "capture/power_of_ten.h"
#include "clockassay/base/rational.h"

namespace clockassay {
namespace {

struct Width {
  int bits;  // significant ones
  const char* name;
};
// The coarser first.
constexpr Width kWidths[] = {{24, "32-bit"}, {53, "64-bit"}};

// What chance must fall below for it to be believed. Chosen.
constexpr double kChance = 1e-6;

// A stamp as a whole number of its last written place.
struct Written {
  Int128 value = 0;
  int place = 0;
};

std::optional<Written> written(const StampText& stamp) {
  Written w{static_cast<Int128>(stamp.digits), stamp.last_place};
  if (stamp.count + stamp.zeros > 30) return std::nullopt;
  for (int i = 0; i < stamp.zeros; ++i) w.value *= 10;
  // Whole numbers to the last place: 2 s rather than 2.000 s is as exact.
  for (; w.place > 0; --w.place) {
    if (w.value > (Int128{1} << 100)) return std::nullopt;
    w.value *= 10;
  }
  return w;
}

Int128 power(int places) {
  Int128 value = 1;
  for (; places > 0; --places) value *= 10;
  return value;
}

// Largest k with 2^k * 10^-place... at most the value: floor(log2(w)).
int binary_exponent(const Written& w) {
  const Int128 den = power(-w.place);
  int k = 0;
  Int128 num = w.value;
  if (num >= den) {
    for (Int128 scaled = den; scaled <= num / 2; scaled *= 2) ++k;
    return k;
  }
  for (; num < den; num *= 2) --k;
  return k;
}

// Whether the number is a multiple of 2^exponent to half its last digit;
// nullopt where that cannot be told in 128 bits.
std::optional<bool> is_multiple(const Written& w, int exponent) {
  const Int128 den = power(-w.place);
  constexpr Int128 kMost = Int128{1} << 125;
  if (exponent >= 0) {
    if (exponent > 60) return std::nullopt;
    const Int128 step = den << exponent;
    if (step > kMost / 4) return std::nullopt;
    const Int128 rest = w.value % step;
    return 2 * std::min(rest, step - rest) <= 1;
  }
  if (-exponent > 120 || w.value > (kMost >> -exponent)) return std::nullopt;
  const Int128 rest = (w.value << -exponent) % den;
  return 2 * std::min(rest, den - rest) <= (Int128{1} << -exponent);
}

// 2^exponent as a multiple of 10^place.
double in_last_places(int exponent, int place) {
  return Rational::make(
             exponent >= 0 ? Int128{1} << std::min(exponent, 100) : 1,
             exponent < 0 ? Int128{1} << std::min(-exponent, 100) : 1)
             ->to_double() *
         power_of_ten(std::min(-place, 30)).to_double();
}

// Whether all numbers are ones of `bits` bits, and neither chance nor a coarser
// grid does it: of numbers that were rounded to their last bit about half have
// it set, of whole seconds or of samples at 32 768 Hz none.
bool all_are(const CsvSurvey& survey, int bits) {
  constexpr double kLeastOdd = 0.25;  // chosen: half of what rounding leaves
  double chance = 1.0;
  std::int64_t seen = 0, odd = 0;
  for (const SurveyRow& row : survey.rows) {
    if (row.time.stamp.digits == 0) continue;
    const auto w = written(row.time.stamp);
    if (!w) return false;
    const int exponent = binary_exponent(*w) - bits + 1;
    const auto fits = is_multiple(*w, exponent);
    // Beyond 128 bits the last bit is far below the last digit.
    if (!fits) continue;
    if (!*fits) return false;
    const double steps = in_last_places(exponent, w->place);
    if (steps <= 1.0) continue;
    chance /= steps;
    ++seen;
    odd += is_multiple(*w, exponent + 1) == false;
  }
  return chance < kChance &&
         static_cast<double>(odd) >= kLeastOdd * static_cast<double>(seen);
}

}  // namespace

void find_binary_step(CsvSurvey& survey) {
  const SurveyRow* largest = nullptr;
  double most = 0.0;
  for (const SurveyRow& row : survey.rows) {
    const auto w = written(row.time.stamp);
    if (!w || w->place < -30) return;
    const double value = Rational::make(w->value, power(-w->place))
                             .value_or(Rational(0))
                             .to_double();
    if (largest == nullptr || value > most) {
      largest = &row;
      most = value;
    }
  }
  if (largest == nullptr || most <= 0.0) return;
  const Written w = *written(largest->time.stamp);
  for (const Width& width : kWidths) {
    const int exponent = binary_exponent(w) - width.bits + 1;
    if (in_last_places(exponent, w.place) <= 1.0 || exponent > 60 ||
        exponent < -100) {
      continue;
    }
    if (!all_are(survey, width.bits)) continue;
    const auto step = Rational::make(exponent >= 0 ? Int128{1} << exponent : 1,
                                     exponent < 0 ? Int128{1} << -exponent : 1);
    const auto ticks = multiply(
        *step, power_of_ten(largest->time.unit - survey.tick_exponent));
    if (!ticks || ticks->num() / ticks->den() > (Int128{1} << 60)) return;
    const Int128 up = (ticks->num() + ticks->den() - 1) / ticks->den();
    if (up <= survey.resolution_ticks) return;
    survey.float_ticks = static_cast<std::int64_t>(up);
    survey.float_reason =
        std::string("all times are ") + width.name +
        " floating point numbers printed with more digits than they hold";
    return;
  }
}

}  // namespace clockassay
