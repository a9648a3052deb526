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
    all_expected = all_expected && row->error.has_value();
    frequencies.push_back(row->frequency->value());
  }
  if (all_expected) return std::nullopt;
  return median(std::move(frequencies));
}

TrendPoint point_of(const StoredRow& row, std::optional<double> nominal) {
  TrendPoint point;
  point.taken_s = row.taken_s;
  const std::string* build = find_tag(row.tags, "build");
  if (build != nullptr) point.label = *build;
  point.capture = row.capture;
  point.ppm = nominal ? (row.frequency->value() / *nominal - 1.0) * 1e6
                      : row.error->value();
  if (row.expanded) point.expanded = row.expanded->value();
  if (row.period_jitter) point.period_jitter_s = row.period_jitter->value();
  point.decision = row.decision;
  return point;
}

// Each level has limits of its own; those of the last are the trend's.
void limit_levels(std::span<const double> ppm, Trend& trend) {
  std::size_t from = 0;
  for (std::size_t i = 0; i <= trend.shifts.size(); ++i) {
    const std::size_t to =
        i < trend.shifts.size() ? trend.shifts[i].first : ppm.size();
    const auto limits = control_limits(ppm.subspan(from, to - from));
    for (std::size_t k = from; limits && k < to; ++k) {
      trend.points[k].beyond_limits =
          ppm[k] < limits->low || ppm[k] > limits->high;
    }
    if (to == ppm.size()) trend.limits = limits;
    from = to;
  }
}

Trend trend_of(std::vector<const StoredRow*> rows,
               const ShiftOptions& options) {
  Trend trend;
  const std::size_t all = rows.size();
  std::erase_if(rows, [](const StoredRow* r) { return !r->frequency; });
  trend.silent = all - rows.size();
  if (rows.empty()) return trend;
  // What was taken at one time stays in order of its capture.
  std::sort(rows.begin(), rows.end(),
            [](const StoredRow* a, const StoredRow* b) {
              return std::pair(a->taken_s, a->capture) <
                     std::pair(b->taken_s, b->capture);
            });
  const auto nominal = nominal_of(rows);
  trend.is_relative = nominal.has_value();
  std::vector<double> ppm;
  std::vector<double> jitter;
  for (const StoredRow* row : rows) {
    trend.points.push_back(point_of(*row, nominal));
    ppm.push_back(trend.points.back().ppm);
    if (row->period_jitter) jitter.push_back(row->period_jitter->value());
  }
  trend.shifts = find_level_shifts(ppm, options);
  trend.jitter_shifts = find_level_shifts(jitter, options);
  limit_levels(ppm, trend);
  return trend;
}

}  // namespace

std::vector<Trend> make_trends(const std::vector<StoredRow>& rows,
                               const TrendOptions& options) {
  std::map<Key, std::vector<const StoredRow*>> groups;
  for (const StoredRow& row : rows) {
    if (is_asked(row, options)) groups[key_of(row, options)].push_back(&row);
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
