// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <string>

#include "clockassay/base/printable.h"
#include "clockassay/report/error_text.h"
#include "clockassay/report/report.h"
#include "report/number_format.h"
#include "report/record_json.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

constexpr const char* kNotACertificate =
    "A result of one capture; it is not a calibration certificate.";

constexpr const char* kNotACertificateOfDrift =
    "A result of one part as it was measured; it is not a calibration "
    "certificate.";

constexpr const char* kNotACertificateOfTwo =
    "A comparison of two captures; it is not a calibration certificate.";

constexpr const char* kNotACertificateOfMany =
    "A history of captures; it is not a calibration certificate.";

// Clocks of one source, held against each other.
void put_sources(TextLayout& out, const Record& record) {
  for (const SourceGroup& group : record.sources) {
    out.blank_line();
    std::string text = message_text(group.finding);
    if (record.captures.size() > 1) {
      text = message_text(group.capture) + ": " + text;
    }
    out.labelled("one source", text);
  }
}

void put_verdicts(TextLayout& out, const Record& record,
                  const TextOptions& options) {
  // One of many reports stands beside those of other captures.
  const bool several =
      options.bare || record.captures.size() + record.errors.size() > 1;
  const auto line = [&](const Verdict& v) {
    put_verdict_line(out, v, find_channel(find_capture(record, v), v),
                     options.color, several);
  };
  for (const Verdict& v : record.verdicts) line(v);
  if (options.quiet) return;
  put_sources(out, record);
  // Of a batch what passes is said by its line.
  const bool is_batch = record.summary.has_value();
  for (const Verdict& v : record.verdicts) {
    if (is_batch && v.decision == Decision::kPass && v.warnings.empty()) {
      continue;
    }
    out.blank_line();
    if (record.verdicts.size() > 1) line(v);
    const CaptureResult* capture = find_capture(record, v);
    put_verdict_details(out, v, capture, find_channel(capture, v));
  }
}

void put_count(std::size_t count, const char* word, std::string& text) {
  if (count == 0) return;
  text += ", " + std::to_string(count) + ' ' + word;
}

void put_timebase(TextLayout& out, const Record& record) {
  const auto common = common_timebase(record);
  out.paragraph("timebase: " +
                (common ? timebase_text(*common) : "several, each as stated"));
}

// Verdicts of drift are one a board, in their order, or none.
void put_drifts(TextLayout& out, const Record& record,
                const TextOptions& options) {
  const auto verdict_of = [&record](std::size_t i) {
    return i < record.verdicts.size() ? &record.verdicts[i] : nullptr;
  };
  const bool several = record.drifts.size() > 1;
  if (several || options.quiet) {
    for (std::size_t i = 0; i < record.drifts.size(); ++i) {
      put_drift_line(out, record.drifts[i], verdict_of(i), options.color);
    }
  }
  if (options.quiet) return;
  for (std::size_t i = 0; i < record.drifts.size(); ++i) {
    if (several) out.blank_line();
    put_drift_line(out, record.drifts[i], verdict_of(i), options.color);
    out.blank_line();
    put_drift(out, record.drifts[i], verdict_of(i));
  }
}

void put_measurements(TextLayout& out, const Record& record,
                      const TextOptions& options) {
  bool first = true;
  for (const CaptureResult& capture : record.captures) {
    if (!first && !options.quiet) out.blank_line();
    first = false;
    if (!options.quiet || record.captures.size() > 1) {
      options.quiet ? out.paragraph(message_text(capture.path), 2)
                    : put_capture(out, capture);
    }
    if (capture.channels.empty()) {
      out.paragraph("no channel carries a clock");
    }
    for (const ChannelResult& channel : capture.channels) {
      if (options.quiet) {
        put_channel_line(out, channel);
      } else {
        out.blank_line();
        put_channel(out, channel);
      }
    }
  }
}

void put_understandings(TextLayout& out, const Record& record) {
  for (const CaptureResult& capture : record.captures) {
    if (!capture.understanding) continue;
    put_understanding(out, capture);
    out.blank_line();
  }
  for (const RefusedCapture& refused : record.refused) {
    put_understanding(out, refused);
    out.blank_line();
  }
}

void put_errors(TextLayout& out, const std::vector<Error>& errors) {
  for (const Error& e : errors) {
    const std::string place = error_place(e);
    out.paragraph("NO RESULT  " + place + (place.empty() ? "" : ": ") +
                      message_text(e.message),
                  6);
    if (!e.hint.empty()) out.paragraph("      " + message_text(e.hint), 6);
  }
}

}  // namespace

const char* certificate_words(const Record& record) {
  if (record.command == "drift") return kNotACertificateOfDrift;
  if (record.command == "trend") return kNotACertificateOfMany;
  return record.comparison ? kNotACertificateOfTwo : kNotACertificate;
}

const CaptureResult* find_capture(const Record& record, const Verdict& v) {
  const auto found = std::find_if(
      record.captures.begin(), record.captures.end(),
      [&v](const CaptureResult& c) { return c.path == v.capture; });
  return found == record.captures.end() ? nullptr : &*found;
}

const ChannelResult* find_channel(const CaptureResult* capture,
                                  const Verdict& v) {
  if (capture == nullptr || !v.channel) return nullptr;
  const auto found = std::find_if(
      capture->channels.begin(), capture->channels.end(),
      [&v](const ChannelResult& c) { return c.name == *v.channel; });
  return found == capture->channels.end() ? nullptr : &*found;
}

std::string summary_words(const BatchSummary& s) {
  std::string counts;
  put_count(s.pass, "pass", counts);
  put_count(s.fail, "fail", counts);
  put_count(s.undecided, "undecided", counts);
  put_count(s.unusable, "unusable", counts);
  return std::to_string(s.captures) +
         (s.captures == 1 ? " capture: " : " captures: ") + counts.substr(2);
}

std::string name_text(const std::string& name) {
  constexpr std::size_t kMost = 60;  // bytes; chosen: one line
  return printable_beginning(name, kMost);
}

std::string message_text(const std::string& message) {
  constexpr std::size_t kMost = 1000;  // bytes; chosen: a dozen lines
  return printable_beginning(message, kMost);
}

std::string coverage_percent(double coverage) {
  constexpr double kPercent = 100.0;
  return plain_number(kPercent * coverage) + " %";
}

std::string frequency_text(const FrequencyResult& f) {
  return unbroken(frequency_with_uncertainty(f.value.value(),
                                             f.expanded_uncertainty.value()) +
                  " (" + coverage_percent(f.coverage) + ")");
}

std::optional<Timebase> common_timebase(const Record& record) {
  const auto shared = [](const DriftResult& r) { return r.shared.is_one; };
  if (!std::all_of(record.drifts.begin(), record.drifts.end(), shared)) {
    return std::nullopt;
  }
  if (const auto& c = record.comparison) {
    if (!is_known_alike(c->timebase_before, c->timebase_after)) {
      return std::nullopt;
    }
    return c->timebase_before;
  }
  if (record.trends.empty()) return record.timebase;
  std::optional<Timebase> common =
      record.trends.front().points.front().timebase;
  for (const Trend& trend : record.trends) {
    for (const TrendPoint& p : trend.points) {
      if (!common || !p.timebase || !is_known_alike(*common, *p.timebase)) {
        return std::nullopt;
      }
    }
  }
  return common;
}

std::string timebase_text(const Timebase& t) {
  const std::string tolerance = plain_number(t.tolerance.value()) + " ppm";
  switch (t.kind) {
    case TimebaseKind::kAssumed:
      return "assumed " + tolerance + ", not stated";
    case TimebaseKind::kStated:
      return "stated within \u00B1" + tolerance;
    case TimebaseKind::kReference:
      return "by the reference channel of each capture";
    case TimebaseKind::kCalibrated:
      break;
  }
  return std::string(timebase_kind_name(t.kind)) + ", offset " +
         plain_number(t.offset.value()) + " ppm corrected, within \u00B1" +
         tolerance;
}

std::string reference_text(const ReferenceResult& r) {
  const std::optional<Rational>& stated = r.stated.tolerance_ppm;
  return name_text(r.channel) + ", " +
         unbroken(nominal_frequency(r.stated.frequency_hz.to_double())) +
         (stated ? unbroken(" \u00B1 " + plain_number(stated->to_double()) +
                            " ppm")
                 : std::string(", tolerance not stated")) +
         "; by it the timebase is off by " +
         unbroken(signed_with_uncertainty(r.timebase.offset.value(),
                                          r.timebase.tolerance.value(), "ppm"));
}

void put_warnings(TextLayout& out, const std::vector<Warning>& warnings) {
  for (const Warning& w : warnings) {
    const WarningInfo& info = warning_info(w.code);
    const char* ban = info.forbids_fail   ? ", forbids a pass and a fail)"
                      : info.forbids_pass ? ", forbids a pass)"
                                          : ")";
    out.labelled("warning", message_text(w.message) + " (" + info.name + ban);
  }
}

Result<std::string> text_report(const Record& record,
                                const TextOptions& options) {
  // Everything printed here is in the tree, which refuses NaN and infinity.
  if (!options.is_checked) {
    const auto tree = record_json(record);
    if (!tree) return tl::unexpected(tree.error());
  }
  TextLayout out;
  put_understandings(out, record);
  const bool judged = !record.verdicts.empty();
  if (record.command == "drift") {
    put_drifts(out, record, options);
  } else if (record.command == "trend") {
    put_trends(out, record.trends, options.quiet);
  } else if (record.command == "compare") {
    if (record.comparison) {
      put_comparison(out, *record.comparison, options.color, options.quiet);
    }
  } else if (judged) {
    put_verdicts(out, record, options);
  } else {
    put_measurements(out, record, options);
  }
  const bool any =
      !record.captures.empty() || !record.drifts.empty() || record.comparison;
  const bool spaced = !options.quiet && any;
  if (spaced && !record.errors.empty()) out.blank_line();
  put_errors(out, record.errors);
  if (record.summary) {
    if (!options.quiet) out.blank_line();
    out.paragraph(summary_words(*record.summary));
  }
  if (!any || options.bare) return out.text();
  if (spaced) out.blank_line();
  if (spaced && !record.title.empty())
    out.paragraph(message_text(record.title));
  // A comparison has said what it was timed by.
  if (record.command != "compare" && record.command != "trend") {
    put_timebase(out, record);
  }
  if (!options.quiet) out.paragraph(certificate_words(record));
  return out.text();
}

}  // namespace clockassay
