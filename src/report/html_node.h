// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pugixml.hpp>
#include <string>
#include <vector>

#include "report/page_words.h"
#include "report/text_layout.h"

namespace clockassay {

/// A new last child. Text is printable() first, and the writer escapes it, so
/// that nothing from a capture is ever markup.
pugi::xml_node add(pugi::xml_node parent, const char* tag,
                   const std::string& text = {}, const char* of = "");

/// The same of a sentence or figures of ours, as page_words() has them; an
/// option in it is not torn apart. What something is called goes by add().
pugi::xml_node add_words(pugi::xml_node parent, const char* tag,
                         const std::string& text, const char* of = "",
                         LineEnds ends = LineEnds::kNotInFigures);

/// A line of parts side by side, wrapped between them.
void add_parts(pugi::xml_node line, const std::vector<std::string>& parts);

/// A list of sentences under a heading of that level; nothing without any.
void add_sentences(pugi::xml_node parent, const char* heading,
                   const std::string& title,
                   const std::vector<std::string>& sentences);

/// What a text report says, as lists and paragraphs.
void add_blocks(pugi::xml_node parent, const std::vector<TextBlock>& blocks);

/// By the keyboard, too, where it is wider than the page.
void make_scrollable(pugi::xml_node node, const std::string& what);

/// Whether each cell names its column, for a screen that has no room for a row.
enum class CellNames { kAbove, kInEach };

/// A table that scrolls by itself where it is wide.
class HtmlTable {
 public:
  /// In: columns  names; a column whose name begins with '#' is of numbers
  HtmlTable(pugi::xml_node parent, const std::string& caption,
            std::vector<std::string> columns,
            CellNames names = CellNames::kAbove);
  /// The first cell is the row's heading; the last goes to the end. In: id what
  /// of the page it leads to
  void row(const std::vector<std::string>& cells, const std::string& id = {});

 private:
  std::vector<std::string> columns_;
  bool is_named_;
  pugi::xml_node body_;
};

}  // namespace clockassay
