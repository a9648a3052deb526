// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/path_neighbours.h"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <utility>

namespace clockassay {
namespace {

std::string factor_name(const PathFactor& factor) {
  return (factor.divides ? "divider " : "multiplier ") +
         (factor.value.is_integer() ? factor.value.to_string() : factor.text);
}

// Collects neighbours; `failed_` once any of them left the range.
class NeighbourList {
 public:
  explicit NeighbourList(const ClockPath& path) : path_(path) {}

  void add_off_by_one(std::size_t index, int step) {
    const PathFactor& factor = path_.factors[index];
    if (!factor.value.is_integer()) return;
    const std::optional<Rational> value = add(factor.value, step);
    // A factor of zero is no clock, and one of 1 is the factor missing.
    if (value && *value <= Rational(1)) return;
    ClockPath changed = path_;
    set_factor(changed, index, value);
    append(step > 0 ? PathNeighbourKind::kOneMore : PathNeighbourKind::kOneLess,
           changed,
           factor_name(factor) + " counted as " + changed.factors[index].text +
               " (off by one)",
           change_of(factor, value), index);
  }

  void add_missing(std::size_t index) {
    const PathFactor& factor = path_.factors[index];
    ClockPath changed = path_;
    changed.factors.erase(changed.factors.begin() +
                          static_cast<std::ptrdiff_t>(index));
    append(PathNeighbourKind::kFactorMissing, changed,
           factor_name(factor) + " missing", change_of(factor, Rational(1)),
           index);
  }

  void add_twice(std::size_t index) {
    const PathFactor& factor = path_.factors[index];
    ClockPath changed = path_;
    changed.factors.insert(
        changed.factors.begin() + static_cast<std::ptrdiff_t>(index), factor);
    append(PathNeighbourKind::kFactorTwice, changed,
           factor_name(factor) + " applied twice",
           change_of(factor, multiply(factor.value, factor.value)), index);
  }

  void add_two_dividers(std::size_t first, std::size_t second) {
    const PathFactor& a = path_.factors[first];
    const PathFactor& b = path_.factors[second];
    if (!a.divides || !b.divides || !a.value.is_integer() ||
        !b.value.is_integer()) {
      return;
    }
    const std::optional<Rational> more_a = add(a.value, 1);
    const std::optional<Rational> more_b = add(b.value, 1);
    ClockPath changed = path_;
    set_factor(changed, first, more_a);
    set_factor(changed, second, more_b);
    const std::optional<Rational> change_a = change_of(a, more_a);
    const std::optional<Rational> change_b = change_of(b, more_b);
    append(PathNeighbourKind::kTwoOneMore, changed,
           factor_name(a) + " counted as " + changed.factors[first].text +
               " and " + factor_name(b) + " counted as " +
               changed.factors[second].text + " (both off by one)",
           change_a && change_b ? multiply(*change_a, *change_b) : std::nullopt,
           first);
  }

  void add_whole(PathNeighbourKind kind, bool divides,
                 const char* description) {
    const PathFactor two{divides, 2, "2"};
    ClockPath changed = path_;
    changed.factors.push_back(two);
    append(kind, changed, description,
           divides ? divide(1, two.value) : two.value, path_.factors.size());
  }

  Result<std::vector<PathNeighbour>> take() {
    if (failed_) {
      return failure(ErrorCode::kOutOfRange,
                     "clock path \"" + path_.text +
                         "\": a neighbour of it is too large or too fine to "
                         "be held exactly",
                     "use factors with fewer digits");
    }
    return std::move(list_);
  }

 private:
  static void set_factor(ClockPath& path, std::size_t index,
                         const std::optional<Rational>& value) {
    if (!value) return;
    path.factors[index].value = *value;
    path.factors[index].text = value->to_string();
  }

  // Measured over intended when `value` stands where `factor` should.
  static std::optional<Rational> change_of(
      const PathFactor& factor, const std::optional<Rational>& value) {
    if (!value) return std::nullopt;
    return factor.divides ? divide(factor.value, *value)
                          : divide(*value, factor.value);
  }

  void append(PathNeighbourKind kind, const ClockPath& changed,
              std::string description, const std::optional<Rational>& ratio,
              std::size_t factor) {
    const std::optional<Rational> frequency =
        ratio ? multiply(path_.frequency_hz, *ratio) : std::nullopt;
    if (!frequency) {
      failed_ = true;
      return;
    }
    // A factor of 1 may be missing or doubled unseen: no hypothesis at all.
    if (*ratio == Rational(1)) return;
    const bool listed = std::any_of(
        list_.begin(), list_.end(),
        [&](const PathNeighbour& n) { return n.description == description; });
    if (listed) return;
    list_.push_back({kind, clock_path_expression(changed),
                     std::move(description), *ratio, *frequency, factor,
                     changed.factors});
  }

  const ClockPath& path_;
  std::vector<PathNeighbour> list_;
  bool failed_ = false;
};

}  // namespace

Result<std::vector<PathNeighbour>> path_neighbours(const ClockPath& path) {
  NeighbourList list(path);
  const std::size_t count = path.factors.size();
  for (std::size_t i = 0; i < count; ++i) {
    list.add_off_by_one(i, 1);
    list.add_off_by_one(i, -1);
    list.add_missing(i);
    list.add_twice(i);
  }
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t j = i + 1; j < count; ++j) list.add_two_dividers(i, j);
  }
  list.add_whole(PathNeighbourKind::kDoubled, false,
                 "twice the intended frequency (prescaler or timer-clock "
                 "rule)");
  list.add_whole(PathNeighbourKind::kHalved, true,
                 "half the intended frequency (toggle counted as a pulse, or "
                 "a prescaler)");
  return list.take();
}

}  // namespace clockassay
