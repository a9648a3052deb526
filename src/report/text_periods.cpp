// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <string>

#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

// So many are named one by one.
constexpr std::size_t kNamed = 6;

// To the place that tells one bin from the next.
std::string period_text(const PeriodHistogram& h, double bins) {
  return unbroken(
      time_to(h.first.value() + bins * h.bin.value(), h.bin.value()));
}

/// One character a bin: a dot for none, bars in eighths of the fullest for the
/// rest, the lowest for few.
std::string bars(const PeriodHistogram& h) {
  constexpr std::array kBars = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  const auto most =
      static_cast<double>(*std::max_element(h.counts.begin(), h.counts.end()));
  constexpr auto kHighest = static_cast<double>(kBars.size());
  std::string line;
  for (const std::int64_t n : h.counts) {
    const double height = static_cast<double>(n) / most * kHighest;
    line += n == 0 ? "·"
                   : kBars[std::min(static_cast<std::size_t>(height),
                                    kBars.size() - 1)];
  }
  return line;
}

}  // namespace

void put_periods(TextLayout& out, const PeriodHistogram& h) {
  if (h.counts.size() <= kNamed) {
    std::vector<std::string> each;
    for (std::size_t i = 0; i < h.counts.size(); ++i) {
      each.push_back(unbroken(count(h.counts[i])) + " of " +
                     period_text(h, static_cast<double>(i) + 0.5));
    }
    out.labelled("periods", side_by_side(each));
    return;
  }
  out.labelled(
      "periods",
      "from " + period_text(h, 0.0) + " to " +
          period_text(h, static_cast<double>(h.counts.size())) +
          " in steps of " + unbroken(time_to_digits(h.bin.value(), 3)) +
          ", the fullest " +
          unbroken(count(*std::max_element(h.counts.begin(), h.counts.end()))));
  out.labelled("", bars(h));
}

}  // namespace clockassay
