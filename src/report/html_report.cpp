// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/html_report.h"

#include <optional>
#include <utility>
#include <vector>

#include "clockassay/base/printable.h"
#include "clockassay/report/chart.h"
#include "clockassay/report/error_text.h"
#include "report/chart_parts.h"
#include "report/html_node.h"
#include "report/html_page.h"
#include "report/html_parts.h"
#include "report/record_json.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

std::string page_title(const Record& record) {
  if (!record.title.empty()) return record.title;
  if (!record.drifts.empty()) return record.drifts.front().series;
  if (record.comparison) {
    return record.comparison->before + " and " + record.comparison->after;
  }
  if (!record.captures.empty()) return record.captures.front().path;
  return record.command;
}

void add_head(pugi::xml_node page, const Record& record) {
  pugi::xml_node head = add(page, "header");
  add(head, "p", "clockassay " + record.command, "kind");
  add(head, "h1", page_title(record));
  // What is stored, or compared, says itself what it was timed by.
  if (record.trends.empty() && !record.comparison) {
    add(head, "p", "Timebase: " + timebase_text(record.timebase) + ".");
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
      : record_(record), main_(document_.append_child("main")) {}

  Result<std::string> finish() {
    add_head(main_, record_);
    add_verdicts();
    for (const DriftResult& r : record_.drifts) add_drift(r);
    add_history();
    add_captures();
    add_errors();
    add(main_, "footer", certificate_words(record_));
    if (trouble_) return tl::unexpected(*trouble_);
    return page_text({page_title(record_), record_.tool_version}, document_,
                     charts_);
  }

 private:
  void draw(pugi::xml_node parent, std::optional<Chart> chart) {
    if (!chart) return;
    ids_.number(*chart);
    if (auto drawn = add_figure(parent, *chart); !drawn) {
      if (!trouble_) trouble_ = drawn.error();
      return;
    }
    charts_.push_back(*std::move(chart));
  }

  void add_verdicts() {
    for (std::size_t i = 0; i < record_.verdicts.size(); ++i) {
      const Verdict& v = record_.verdicts[i];
      pugi::xml_node section = add(main_, "section", "", "verdict");
      const CaptureResult* capture = find_capture(record_, v);
      const ChannelResult* channel = find_channel(capture, v);
      add_decision(section, v, channel, record_.captures.size() > 1);
      draw(section, limit_chart(v));
      add_grounds(section, v, channel);
    }
    if (record_.sources.empty()) return;
    pugi::xml_node section = add(main_, "section");
    add(section, "h2", "Outputs of one source");
    for (const SourceGroup& group : record_.sources) {
      add(section, "p", group.finding);
    }
  }

  void add_drift(const DriftResult& r) {
    pugi::xml_node section = add(main_, "section");
    add(section, "h2",
        r.board.empty() ? "Against temperature"
                        : "Against temperature, " + r.board);
    draw(section, drift_chart(r));
    add_text(section, [&](TextLayout& out) { put_drift(out, r, nullptr); });
  }

  void add_history() {
    if (record_.comparison) {
      pugi::xml_node section = add(main_, "section");
      add(section, "h2", "Before and after");
      draw(section, shift_chart(*record_.comparison));
      add_text(section, [&](TextLayout& out) {
        put_comparison(out, *record_.comparison, false, false);
      });
    }
    for (const Trend& trend : record_.trends) {
      pugi::xml_node section = add(main_, "section");
      add(section, "h2", "History of " + trend.clock);
      draw(section, trend_chart(trend));
      add_text(section,
               [&](TextLayout& out) { put_trends(out, {trend}, false); });
    }
  }

  void add_captures() {
    for (const CaptureResult& capture : record_.captures) {
      for (const ChannelResult& channel : capture.channels) {
        pugi::xml_node section = add(main_, "section");
        const std::string place = place_of(record_, capture, channel);
        add(section, "h2", "Channel " + place);
        for (Chart& chart : channel_charts(channel, place)) {
          draw(section, std::move(chart));
        }
        add(section, "h3", "All figures of it");
        add_text(section, [&](TextLayout& out) { put_channel(out, channel); });
      }
      pugi::xml_node section = add(main_, "section");
      add(section, "h2", "How " + capture.path + " was read");
      add_text(section, [&](TextLayout& out) {
        put_capture(out, capture);
        if (capture.understanding) put_understanding(out, capture);
        put_warnings(out, capture.warnings);
      });
    }
  }

  void add_errors() {
    if (record_.errors.empty()) return;
    pugi::xml_node section = add(main_, "section");
    add(section, "h2", "Without a result");
    for (const Error& e : record_.errors) {
      add(section, "p", error_place(e) + ": " + e.message + ". " + e.hint);
    }
  }

  const Record& record_;
  pugi::xml_document document_;
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
