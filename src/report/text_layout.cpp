// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/text_layout.h"

#include <algorithm>
#include <utility>

#include "clockassay/base/utf8.h"
#include "report/display_width.h"

namespace clockassay {
namespace {

// A blank that is no line break until the line is written. printable() leaves
// no such byte in anything from outside.
constexpr char kGlue = '\x1f';

constexpr std::size_t kLabelIndent = 2;   // columns
constexpr std::size_t kLabelColumn = 16;  // where the text beside it begins
constexpr std::size_t kItemIndent = 4;

// How many bytes of `word` fit into that many columns; at least one character.
std::size_t bytes_that_fit(std::string_view word, std::size_t columns) {
  std::size_t bytes = 0;
  while (bytes < word.size()) {
    const std::size_t next = first_code_point(word.substr(bytes)).bytes;
    const std::size_t width = display_width(word.substr(0, bytes + next));
    if (bytes > 0 && width > columns) break;
    bytes += next;
  }
  return bytes;
}

// One line in the making.
class Wrapper {
 public:
  explicit Wrapper(std::size_t hang) : hang_(hang) {}

  void add(std::string_view blanks, std::string_view word) {
    const std::size_t width = display_width(word);
    const bool fits = column_ + blanks.size() + width <= kTextWidth;
    if (!fits && !fresh_) {
      break_line();
    } else {
      put(blanks);
    }
    while (column_ + display_width(word) > kTextWidth) {
      const std::size_t bytes = bytes_that_fit(word, kTextWidth - column_);
      put(word.substr(0, bytes));
      word.remove_prefix(bytes);
      break_line();
    }
    if (!word.empty()) {
      put(word);
      fresh_ = false;
    }
  }

  std::string finish() { return lines_ + line_ + '\n'; }

 private:
  void put(std::string_view text) {
    line_ += text;
    column_ += display_width(text);
  }

  void break_line() {
    while (line_.ends_with(' ')) line_.pop_back();
    lines_ += line_ + '\n';
    line_ = std::string(hang_, ' ');
    column_ = hang_;
    fresh_ = true;
  }

  std::size_t hang_;
  std::string lines_;
  std::string line_;
  std::size_t column_ = 0;
  bool fresh_ = true;  // nothing but blanks on the line yet
};

std::string wrapped(std::string_view text, std::size_t hang) {
  Wrapper wrapper(hang);
  while (!text.empty()) {
    const std::size_t word = std::min(text.find_first_not_of(' '), text.size());
    const std::size_t end = std::min(text.find(' ', word), text.size());
    if (word < end) {
      wrapper.add(text.substr(0, word), text.substr(word, end - word));
    }
    text.remove_prefix(end);
  }
  std::string out = wrapper.finish();
  std::replace(out.begin(), out.end(), kGlue, ' ');
  return out;
}

std::string padded(std::size_t indent, std::string_view label,
                   std::size_t column) {
  std::string out = std::string(indent, ' ') + std::string(label);
  const std::size_t width = indent + display_width(label);
  out.append(width < column ? column - width : 1, ' ');
  return out;
}

}  // namespace

std::string unbroken(std::string text) {
  std::replace(text.begin(), text.end(), ' ', kGlue);
  return text;
}

std::string side_by_side(const std::vector<std::string>& parts) {
  std::string out;
  for (const std::string& part : parts) {
    if (!out.empty()) out += "  ";
    out += unbroken(part);
  }
  return out;
}

void TextLayout::keep(TextBlock::Kind kind, std::string_view label,
                      std::string_view text) {
  std::string whole(text);
  std::replace(whole.begin(), whole.end(), kGlue, ' ');
  blocks_.push_back({kind, std::string(label), std::move(whole)});
}

void TextLayout::append(std::string_view lines) {
  keep(TextBlock::Kind::kLines, "", lines);
  text_ += lines;
}

void TextLayout::paragraph(std::string_view text, std::size_t hang) {
  keep(TextBlock::Kind::kParagraph, "", text);
  text_ += wrapped(text, hang);
}

void TextLayout::labelled(std::string_view label, std::string_view text) {
  keep(TextBlock::Kind::kLabelled, label, text);
  text_ +=
      wrapped(padded(kLabelIndent, label, kLabelColumn) + std::string(text),
              kLabelColumn);
}

void TextLayout::item(std::string_view mark, std::string_view text) {
  keep(TextBlock::Kind::kItem, mark, text);
  const std::size_t hang = kItemIndent + display_width(mark) + 1;
  text_ += wrapped(padded(kItemIndent, mark, hang) + std::string(text), hang);
}

void TextLayout::blank_line() {
  text_ += '\n';
}

}  // namespace clockassay
