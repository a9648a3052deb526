// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/trend.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <span>
#include <utility>

namespace clockassay {
namespace {

bool is_asked(const StoredRow& row, const TrendOptions& options) {
  if (options.clock && row.clock != *options.clock) return false;
  return std::all_of(options.only.begin(), options.only.end(),
                     [&row](const Tag& asked) {
                       const std::string* value = find_tag(row.tags, asked.key);
                       return value != nullptr && *value == asked.value;
                     });
}

using Key = std::pair<std::string, std::vector<std::string>>;

Key key_of(const StoredRow& row, const TrendOptions& options) {
  Key key{row.clock, {}};
  for (const std::string& tag : options.by) {
    const std::string* value = find_tag(row.tags, tag);
    key.second.push_back(value != nullptr ? *value : "");
  }
  return key;
}

std::vector<Tag> tags_of(const Key& key, const TrendOptions& options) {
  std::vector<Tag> tags;
  for (std::size_t i = 0; i < key.second.size(); ++i) {
    if (!key.second[i].empty()) tags.push_back({options.by[i], key.second[i]});
  }
  return tags;
}

double median(std::vector<double> values) {
  const auto middle =
      values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Against the median where any row has nothing it is expected to be.
std::optional<double> nominal_of(const std::vector<const StoredRow*>& rows) {
  std::vector<double> frequencies;
  bool all_expected = true;
  for (const StoredRow* row : rows) {
    if (!row->frequency) continue;
    all_expected = all_expected && row->error.has_value();
    frequencies.push_back(row->frequency->value());
  }
  if (all_expected || frequencies.empty()) return std::nullopt;
  return median(std::move(frequencies));
}

TrendPoint point_of(const StoredRow& row, std::optional<double> nominal) {
  TrendPoint point;
  point.taken_s = row.taken_s;
  const std::string* build = find_tag(row.tags, "build");
  if (build != nullptr) point.label = *build;
  point.capture = row.capture;
  point.decision = row.decision;
  point.timebase = row.timebase;
  if (!row.frequency) return point;
  point.ppm = nominal ? (row.frequency->value() / *nominal - 1.0) * 1e6
                      : row.error->value();
  if (row.expanded) point.expanded = row.expanded->value();
  if (row.period_jitter) point.period_jitter_s = row.period_jitter->value();
  return point;
}

/// Values of a history, and which points they are of.
struct Values {
  std::vector<double> values;
  std::vector<std::size_t> points;
};

template <class Get>
Values values_of(const Trend& trend, Get get) {
  Values v;
  for (std::size_t i = 0; i < trend.points.size(); ++i) {
    const std::optional<double> value = get(trend.points[i]);
    if (!value) continue;
    v.values.push_back(*value);
    v.points.push_back(i);
  }
  return v;
}

// By the points, where the steps are found by the values.
std::vector<LevelShift> steps_of(const Values& v, const ShiftOptions& options) {
  std::vector<LevelShift> shifts = find_level_shifts(v.values, options);
  for (LevelShift& s : shifts) s.first = v.points[s.first];
  return shifts;
}

// Each level has limits of its own; those of the last are the trend's.
void limit_levels(const Values& v, Trend& trend) {
  std::size_t from = 0;
  for (std::size_t i = 0; i <= trend.shifts.size(); ++i) {
    const auto end = i < trend.shifts.size()
                         ? std::lower_bound(v.points.begin(), v.points.end(),
                                            trend.shifts[i].first)
                         : v.points.end();
    const auto to = static_cast<std::size_t>(end - v.points.begin());
    const std::span<const double> level =
        std::span<const double>(v.values).subspan(from, to - from);
    const auto limits = control_limits(level);
    for (std::size_t k = from; limits && k < to; ++k) {
      trend.points[v.points[k]].beyond_limits =
          v.values[k] < limits->low || v.values[k] > limits->high;
    }
    if (end == v.points.end()) trend.limits = limits;
    from = to;
  }
}

// What one capture shows is one value, though it was measured and judged: the
// figures of a channel are the same bits then. By the clock's name if that is
// told.
bool is_same_capture(const StoredRow& a, const StoredRow& b) {
  const auto same_tags = [](const std::vector<Tag>& x,
                            const std::vector<Tag>& y) {
    return std::equal(x.begin(), x.end(), y.begin(), y.end(),
                      [](const Tag& l, const Tag& r) {
                        return l.key == r.key && l.value == r.value;
                      });
  };
  return a.channel == b.channel && a.frequency && b.frequency &&
         a.frequency->value() == b.frequency->value() &&
         same_tags(a.tags, b.tags);
}

// Rows of `measure` beside those of `verify` of the same capture.
std::vector<const StoredRow*> without_repeats(
    const std::vector<StoredRow>& rows) {
  std::multimap<std::pair<std::string, double>, const StoredRow*> judged;
  for (const StoredRow& row : rows) {
    if (row.command == "verify" && row.frequency) {
      judged.emplace(std::pair(row.channel, row.frequency->value()), &row);
    }
  }
  std::vector<const StoredRow*> kept;
  for (const StoredRow& row : rows) {
    bool is_repeated = false;
    if (row.command == "measure" && row.frequency) {
      const auto [from, to] =
          judged.equal_range({row.channel, row.frequency->value()});
      is_repeated = std::any_of(from, to, [&row](const auto& entry) {
        return is_same_capture(*entry.second, row);
      });
    }
    if (!is_repeated) kept.push_back(&row);
  }
  return kept;
}

Trend trend_of(std::vector<const StoredRow*> rows,
               const ShiftOptions& options) {
  Trend trend;
  // What was taken at one time stays in order of its capture.
  std::sort(rows.begin(), rows.end(),
            [](const StoredRow* a, const StoredRow* b) {
              return std::pair(a->taken_s, a->capture) <
                     std::pair(b->taken_s, b->capture);
            });
  const auto nominal = nominal_of(rows);
  trend.is_relative = nominal.has_value();
  for (const StoredRow* row : rows) {
    const bool is_same =
        !trend.points.empty() && trend.points.back().taken_s == row->taken_s;
    trend.same_time += is_same ? 1U : 0U;
    trend.points.push_back(point_of(*row, nominal));
    trend.silent += row->frequency ? 0U : 1U;
  }
  const Values ppm =
      values_of(trend, [](const TrendPoint& p) { return p.ppm; });
  const Values jitter =
      values_of(trend, [](const TrendPoint& p) { return p.period_jitter_s; });
  trend.shifts = steps_of(ppm, options);
  trend.fewest_for_a_shift = fewest_for_a_shift(options);
  trend.jitter_shifts = steps_of(jitter, options);
  limit_levels(ppm, trend);
  return trend;
}

}  // namespace

std::vector<Trend> make_trends(const std::vector<StoredRow>& rows,
                               const TrendOptions& options) {
  std::map<Key, std::vector<const StoredRow*>> groups;
  for (const StoredRow* row : without_repeats(rows)) {
    if (is_asked(*row, options)) groups[key_of(*row, options)].push_back(row);
  }
  std::vector<Trend> trends;
  for (auto& [key, group] : groups) {
    trends.push_back(trend_of(std::move(group), options.shifts));
    trends.back().clock = key.first;
    trends.back().of = tags_of(key, options);
  }
  return trends;
}

}  // namespace clockassay
