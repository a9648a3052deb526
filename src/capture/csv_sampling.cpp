// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_sampling.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "capture/csv_refusal.h"
#include "capture/exact_seconds.h"
#include "capture/power_of_ten.h"

namespace clockassay {
namespace {

std::string seconds(const Rational& interval_s) {
  return exact_seconds(Ticks(1), interval_s) + " s";
}

// Whether any row but the first and the last changes nothing. The last may be
// there to say where a capture of changes ends. Where gaps must be allowed for,
// one row in eight, since changes too may come at multiples of one step.
bool are_idle(const std::vector<SurveyRow>& rows, bool gaps) {
  const auto idle =
      std::count_if(rows.begin() + 1, rows.end() - 1,
                    [](const SurveyRow& row) { return !row.changes; });
  return idle > 0 &&
         (!gaps || 8 * idle >= static_cast<std::ptrdiff_t>(rows.size()));
}

// Whether the rows may show by themselves what they are.
bool may_be_samples(const ReadOptions& options, const CsvLayout& csv) {
  if (csv.columns.lone || csv.columns.event_level) return false;
  return csv.columns.time &&
         options.csv.rows.value_or(CsvRows::kSamples) == CsvRows::kSamples;
}

// Steps as the stated interval has them, if the rows allow it.
std::optional<CsvRowStep> stated_step(const RowStepFit& fit,
                                      const Rational& stated,
                                      std::int64_t resolution,
                                      std::size_t rows) {
  if (fit.low != fit.high) {
    const bool fits = stated > fit.low && stated < fit.high;
    return fits ? std::optional(CsvRowStep(stated, resolution)) : std::nullopt;
  }
  if (stated == fit.low) return fit.step;
  // A rate that the rows cannot show exactly would by now be a tick off.
  const double drift = (fit.low.to_double() - stated.to_double()) *
                       static_cast<double>(rows - 1);
  return std::abs(drift) <= 1.0 ? std::optional(CsvRowStep(stated, resolution))
                                : std::nullopt;
}

Result<void> set_grid(const ReadOptions& options, const CsvHead& head,
                      CsvLayout& csv) {
  TimeGrid& grid = csv.layout.grid;
  grid.tick_s = power_of_ten(csv.tick_exponent);
  const auto rate =
      options.sample_rate_hz ? options.sample_rate_hz : head.sample_rate_hz;
  if (!rate) return {};
  grid.sample_interval_s = divide(Rational(1), *rate);
  if (options.sample_rate_hz) {
    grid.source = SampleIntervalSource::kOption;
    if (head.overridden_rate_hz && *head.overridden_rate_hz != *rate) {
      csv.layout.warnings.push_back(
          {WarningCode::kOptionAgainstFile,
           "--sample-rate states " + rate->to_string() +
               " Hz, which is believed, but the file states " +
               head.overridden_rate_hz->to_string() + " Hz"});
    }
  } else {
    grid.source = SampleIntervalSource::kHeader;
    grid.source_reason = head.sample_rate_because;
  }
  if (csv.columns.base == CsvTimeBase::kSeconds) return {};
  const auto tick = grid.sample_interval_s
                        ? multiply(*grid.sample_interval_s, grid.tick_s)
                        : std::nullopt;
  if (!tick) {
    return refuse_at(options.sample_rate_hz ? head.body : head.sample_rate_byte,
                     "found times that count samples at a rate of " +
                         rate->to_string() +
                         " Hz, whose period has too many digits",
                     "state --sample-rate with fewer digits");
  }
  grid.tick_s = *tick;
  return {};
}

std::string uneven_reason(const RowStepFit& fit, const Rational& tick_s,
                          std::size_t rows) {
  const auto low = multiply(fit.low, tick_s);
  const auto high = multiply(fit.high, tick_s);
  std::string text = "the roundest that all steps of the first " +
                     std::to_string(rows) + " rows allow";
  if (low && high) {
    text += ", which is between " + std::to_string(low->to_double() * 1e9) +
            " ns and " + std::to_string(high->to_double() * 1e9) + " ns";
  }
  return text;
}

// Whether steps of two intervals are no sign of a missing sample: the interval
// is one step of the text, and the first rows show no longer hole.
bool may_be_rounding(const RowStepFit& fit, const CsvSurvey& survey,
                     const CsvLayout& csv) {
  if (csv.columns.base != CsvTimeBase::kSeconds ||
      fit.step.interval() != Rational(survey.resolution_ticks)) {
    return false;
  }
  const auto& times = survey.times;
  for (std::size_t i = 1; i < times.size(); ++i) {
    if (times[i] - times[i - 1] > 2 * survey.resolution_ticks) return false;
  }
  return true;
}

// The rows are samples at the steps of `fit`.
void take_fit(const RowStepFit& fit, const CsvSurvey& survey, CsvLayout& csv) {
  TimeGrid& grid = csv.layout.grid;
  csv.rows = CsvRows::kSamples;
  csv.row_step = fit.step;
  const auto interval_s = multiply(fit.step.interval(), grid.tick_s);
  if (!grid.sample_interval_s) {
    grid.sample_interval_s = interval_s;
    grid.source = SampleIntervalSource::kRows;
    if (may_be_rounding(fit, survey, csv)) csv.row_step = fit.step.rounded();
    grid.source_reason =
        "rows are one per sample: " +
        (fit.low == fit.high
             ? "the step of the first " + std::to_string(survey.rows.size()) +
                   " rows"
             : uneven_reason(fit, grid.tick_s, survey.rows.size()));
    return;
  }
  const auto stated = divide(*grid.sample_interval_s, grid.tick_s);
  auto step =
      stated ? stated_step(fit, *stated,
                           survey.float_ticks.value_or(survey.resolution_ticks),
                           survey.rows.size())
             : std::nullopt;
  if (step) {
    csv.row_step = *std::move(step);
    return;
  }
  const auto rate = divide(Rational(1), *grid.sample_interval_s);
  csv.layout.warnings.push_back(
      {WarningCode::kSamplingContradicted,
       "the rows are " + (interval_s ? seconds(*interval_s) : "otherwise") +
           " apart, but the sample rate is stated as " +
           (rate ? rate->to_string() : "another") +
           " Hz; state the true one with --sample-rate"});
}

// Rounding of steps adds up from row to row.
void warn_of_steps(const CsvSurvey& survey, CsvLayout& csv) {
  const TimeGrid& grid = csv.layout.grid;
  const auto text = multiply(Rational(survey.resolution_ticks), grid.tick_s);
  if (csv.columns.base == CsvTimeBase::kSamples || !text) return;
  if (grid.sample_interval_s) {
    const auto steps = divide(*grid.sample_interval_s, *text);
    if (steps && steps->is_integer()) return;
  }
  csv.layout.warnings.push_back(
      {WarningCode::kTextCoarse,
       "the times are steps from row to row, written to " + seconds(*text) +
           ": unless every step is exact, their rounding adds up to a wrong "
           "frequency; state a --sample-rate whose interval is a multiple of "
           "that, or export times since a fixed instant"});
}

void warn_of_floats(const CsvSurvey& survey, CsvLayout& csv) {
  if (!survey.float_ticks) return;
  csv.layout.grid.text_resolution_ticks = *survey.float_ticks;
  csv.layout.grid.float_ticks = survey.float_ticks;
  csv.layout.warnings.push_back(
      {WarningCode::kTextRounds,
       survey.float_reason + ": they resolve " +
           exact_seconds(Ticks(*survey.float_ticks), csv.layout.grid.tick_s) +
           " s, not " +
           exact_seconds(Ticks(survey.resolution_ticks),
                         csv.layout.grid.tick_s) +
           " s, and that is reckoned with"});
}

}  // namespace

Result<void> set_sampling(const ReadOptions& options, const CsvHead& head,
                          const CsvSurvey& survey, CsvLayout& csv) {
  if (auto set = set_grid(options, head, csv); !set) return set;
  if (csv.columns.unit_overridden) {
    csv.layout.warnings.push_back(
        {WarningCode::kOptionAgainstFile,
         "--time-unit states another unit of time than the header, and is "
         "believed"});
  }
  TimeGrid& grid = csv.layout.grid;
  const bool needs_rate = csv.columns.base != CsvTimeBase::kSeconds;
  if (needs_rate && !grid.sample_interval_s) {
    return refuse_at(
        head.header ? head.header->begin : head.body,
        csv.columns.time ? "found times that count samples, and no sample rate"
                         : "found rows without times, and no sample rate",
        csv.columns.time ? "state --sample-rate, or --time-unit if the column "
                           "is the time"
                         : "state --sample-rate");
  }
  warn_of_floats(survey, csv);
  if (csv.columns.event_level) csv.rows = CsvRows::kEvents;
  if (!csv.columns.time) {
    csv.rows = CsvRows::kSamples;
  } else if (may_be_samples(options, csv)) {
    const auto fit = fit_row_step(
        survey.times, survey.float_ticks.value_or(survey.resolution_ticks),
        grid.tick_s);
    const bool stated = options.csv.rows.has_value();
    if (stated && !fit) {
      return refuse_at(head.body,
                       "found rows at no constant step, expected samples as "
                       "--rows states",
                       "state --rows changes, or split the file where its "
                       "step changes");
    }
    if (fit &&
        (stated || options.analogue || are_idle(survey.rows, fit->gaps > 0))) {
      take_fit(*fit, survey, csv);
      return {};
    }
  }
  if (csv.columns.times_are_steps) warn_of_steps(survey, csv);
  return {};
}

}  // namespace clockassay
