// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/printable.h"
#include "report/facts.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

void put_facts(TextLayout& out, const std::vector<ReadingFact>& facts) {
  for (const ReadingFact& f : facts) {
    std::string text = message_text(f.found);
    if (!f.because.empty()) text += " (" + message_text(f.because) + ")";
    out.labelled(name_text(f.topic), text);
  }
}

void put_first_records(TextLayout& out,
                       const std::vector<RecordAsRead>& records) {
  if (records.empty()) return;
  out.labelled("first records", "as they stand in the file, and as read");
  for (const RecordAsRead& r : records) {
    std::string values;
    for (const std::string& value : r.values) {
      values += (values.empty() ? "" : ", ") + name_text(value);
    }
    out.item("-", "line " + std::to_string(r.line) + ", \"" +
                      name_text(r.text) + "\": at " +
                      unbroken(name_text(r.time_s) + " s") +
                      (values.empty() ? "" : ", " + values));
  }
}

std::string shown_path(const std::string& path) {
  return path == "-" ? "standard input" : message_text(path);
}

}  // namespace

void put_understanding(TextLayout& out, const CaptureResult& capture) {
  out.paragraph("how " + shown_path(capture.path) + " was read", 2);
  put_facts(out, facts_of(capture));
  put_first_records(out, capture.understanding->first_records);
}

void put_understanding(TextLayout& out, const RefusedCapture& refused) {
  out.paragraph(
      "how " + shown_path(refused.path) + " was read before it was refused", 2);
  put_facts(out, refused.understanding.facts);
  put_first_records(out, refused.understanding.first_records);
}

}  // namespace clockassay
