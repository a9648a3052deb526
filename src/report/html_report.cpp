// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/html_report.h"

#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "clockassay/base/printable.h"
#include "clockassay/report/chart.h"
#include "report/chart_parts.h"
#include "report/html_node.h"
#include "report/html_page.h"
#include "report/html_parts.h"
#include "report/html_summary.h"
#include "report/record_json.h"
#include "report/text_parts.h"
#include "report/xml_text.h"

namespace clockassay {
namespace {

/// Those that could not be used, too: each has an error of its path.
std::size_t captures_asked(const Record& record) {
  std::set<std::string> paths;
  for (const CaptureResult& c : record.captures) paths.insert(c.path);
  std::size_t count = record.captures.size();
  for (const Error& e : record.errors) {
    const bool is_output =
        e.code == ErrorCode::kCannotCreate || e.code == ErrorCode::kWriteFailed;
    if (e.path.empty() || is_output) continue;
    if (paths.insert(e.path).second) ++count;
  }
  return record.summary ? record.summary->captures : count;
}

std::string page_title(const Record& record) {
  if (!record.title.empty()) return record.title;
  if (!record.drifts.empty()) return record.drifts.front().series;
  if (record.comparison) {
    return record.comparison->before + " and " + record.comparison->after;
  }
  if (!record.trends.empty()) return "Histories of clocks";
  if (record.captures.empty()) return record.command;
  const std::size_t others = captures_asked(record) - 1;
  const std::string& first = record.captures.front().path;
  return (first == "-" ? "standard input" : first) +
         (others == 0 ? ""
                      : " and " + std::to_string(others) +
                            (others == 1 ? " other" : " others"));
}

void add_head(pugi::xml_node page, const Record& record) {
  pugi::xml_node head = add(page, "header");
  add(head, "p", "clockassay " + record.command, "kind");
  add(head, "h1", page_title(record));
  // What is stored, or compared, says itself what it was timed by.
  if (record.trends.empty() && !record.comparison) {
    const auto common = common_timebase(record);
    add_words(
        head, "p",
        "Timebase: " +
            (common ? timebase_text(*common) : "several, each as stated") +
            ".");
  }
}

template <class Put>
void add_text(pugi::xml_node parent, const Put& put) {
  TextLayout text;
  put(text);
  add_blocks(parent, text.blocks());
}

/// A page in the making.
class Page {
 public:
  explicit Page(const Record& record)
      : record_(record),
        share_(record),
        main_(document_.append_child("main")) {}

  Result<std::string> finish() {
    add_head(main_, record_);
    add_summary(main_, record_, share_);
    add_errors(main_, record_);
    if (record_.drifts.empty()) add_verdicts();
    for (std::size_t i = 0; i < record_.drifts.size(); ++i) add_drift(i);
    add_history();
    for (std::size_t i = 0; i < record_.captures.size(); ++i) add_capture(i);
    add(main_, "footer", certificate_words(record_));
    if (trouble_) return tl::unexpected(*trouble_);
    return page_text({page_title(record_), record_.tool_version}, document_,
                     charts_);
  }

 private:
  pugi::xml_node begin(const std::string& id, const char* of = "") {
    pugi::xml_node section = add(main_, "section", "", of);
    section.append_attribute("id") = id.c_str();
    return section;
  }

  void draw(pugi::xml_node parent, std::optional<Chart> chart) {
    if (!chart) return;
    ids_.number(*chart);
    if (auto drawn = add_figure(parent, *chart); !drawn) {
      if (!trouble_) trouble_ = drawn.error();
      return;
    }
    if (chart->nothing.empty()) charts_.push_back(*std::move(chart));
  }

  void add_verdicts() {
    for (std::size_t i = 0; i < record_.verdicts.size(); ++i) {
      if (share_.verdicts[i] == Shown::kRow) continue;
      const Verdict& v = record_.verdicts[i];
      pugi::xml_node section = begin(verdict_id(i), "verdict");
      const CaptureResult* capture = find_capture(record_, v);
      const ChannelResult* channel = find_channel(capture, v);
      const std::string where = where_of(record_, v);
      add_decision(section, v, channel, where);
      draw(section, limit_chart(v, where));
      add_grounds(section, v, channel);
      if (channel == nullptr) continue;
      const std::string error =
          nominal_error_words(*channel, capture->reference.has_value());
      if (!error.empty()) {
        add_words(section, "p", "Time error " + with_blanks(error) + ".",
                  "small");
      }
    }
    if (record_.sources.empty()) return;
    pugi::xml_node section = add(main_, "section");
    add(section, "h2", "Outputs of one source");
    for (const SourceGroup& group : record_.sources) {
      add_words(section, "p", group.finding);
    }
  }

  void add_drift(std::size_t at) {
    if (share_.drifts[at] == Shown::kRow) return;
    const DriftResult& r = record_.drifts[at];
    const bool is_judged = at < record_.verdicts.size();
    pugi::xml_node section = begin(drift_id(at), is_judged ? "verdict" : "");
    if (is_judged) {
      const Verdict& v = record_.verdicts[at];
      const std::string where = record_.drifts.size() > 1 ? r.board : "";
      add_decision(section, v, r, where);
      draw(section, limit_chart(v, where));
      add_grounds(section, v, nullptr);
    }
    add(section, is_judged ? "h3" : "h2",
        r.board.empty() ? "Against temperature"
                        : "Against temperature, " + r.board);
    if (!is_judged) {
      add_parts(add(section, "p", "", "headline"), drift_parts(r));
    }
    if (share_.drifts[at] == Shown::kCharts) draw(section, drift_chart(r));
    add_text(section, [&](TextLayout& out) { put_drift(out, r, nullptr); });
  }

  void add_history() {
    if (record_.comparison) {
      pugi::xml_node section = add(main_, "section");
      add(section, "h2", "Before and after");
      add_shift_rows(section, *record_.comparison);
      draw(section, shift_chart(*record_.comparison));
      add_text(section, [&](TextLayout& out) {
        put_comparison(out, *record_.comparison, false, false);
      });
    }
    for (std::size_t i = 0; i < record_.trends.size(); ++i) {
      if (share_.trends[i] == Shown::kRow) continue;
      const Trend& trend = record_.trends[i];
      pugi::xml_node section = begin(trend_id(i));
      add(section, "h2", trend_title(trend));
      draw(section, trend_chart(trend));
      add_text(section,
               [&](TextLayout& out) { put_trends(out, {trend}, false); });
    }
  }

  void add_channel(std::size_t at, std::size_t i) {
    const Shown shown = share_.channels[at][i];
    if (shown == Shown::kRow) return;
    const CaptureResult& capture = record_.captures[at];
    const ChannelResult& channel = capture.channels[i];
    pugi::xml_node section = begin(channel_id(at, i));
    const std::string place = place_of(record_, capture, channel);
    add(section, "h2", "Channel " + place);
    if (shown == Shown::kCharts) {
      for (Chart& chart : channel_charts(channel, place)) {
        draw(section, std::move(chart));
      }
    }
    add(section, "h3", "All figures of it");
    add_text(section, [&](TextLayout& out) { put_channel(out, channel); });
  }

  void add_capture(std::size_t at) {
    if (!share_.shows(at)) return;
    const CaptureResult& capture = record_.captures[at];
    for (std::size_t i = 0; i < capture.channels.size(); ++i) {
      add_channel(at, i);
    }
    pugi::xml_node section = add(main_, "section");
    add(section, "h2", "How " + capture.path + " was read");
    add_text(section, [&](TextLayout& out) {
      put_capture(out, capture);
      if (capture.understanding) put_understanding(out, capture);
    });
  }

  const Record& record_;
  PageShare share_;
  XmlDocument document_;
  pugi::xml_node main_;
  ChartIds ids_;
  std::vector<Chart> charts_;
  std::optional<Error> trouble_;
};

}  // namespace

Result<std::string> html_report(const Record& record) {
  // Everything shown here is in the tree, which refuses NaN and infinity.
  if (const auto tree = record_json(record); !tree) {
    return tl::unexpected(tree.error());
  }
  return Page(record).finish();
}

}  // namespace clockassay
