// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/html_node.h"

#include <algorithm>
#include <cstddef>
#include <utility>

#include "clockassay/base/printable.h"
#include "report/page_words.h"

namespace clockassay {
namespace {

bool is_number_column(const std::string& name) {
  return name.starts_with('#');
}

std::string name_of(const std::string& column) {
  return is_number_column(column) ? column.substr(1) : column;
}

/// Where an option ends that is named there: "--same-timebase"; else `at`.
std::size_t end_of_option(const std::string& text, std::size_t at) {
  const auto is_of_name = [&](std::size_t i) {
    return i < text.size() && ((text[i] >= 'a' && text[i] <= 'z') ||
                               (text[i] == '-' && i > at + 2));
  };
  if (text.compare(at, 2, "--") != 0 || !is_of_name(at + 2)) return at;
  if (at > 0 && text[at - 1] != ' ' && text[at - 1] != '(') return at;
  std::size_t end = at + 2;
  while (is_of_name(end)) ++end;
  return end;
}

/// Lists of one text, the one at hand.
class BlockWriter {
 public:
  explicit BlockWriter(pugi::xml_node parent) : parent_(parent) {}

  void put(const TextBlock& block) {
    if (block.kind != TextBlock::Kind::kItem) items_ = {};
    switch (block.kind) {
      case TextBlock::Kind::kLabelled:
        return put_labelled(block);
      case TextBlock::Kind::kItem:
        return put_item(block);
      case TextBlock::Kind::kLines:
        return put_lines(block);
      case TextBlock::Kind::kHeadline:
        return put_headline(block);
      case TextBlock::Kind::kParagraph:
        break;
    }
    list_ = lines_ = {};
    add_words(parent_, "p", block.text);
  }

 private:
  void put_headline(const TextBlock& block) {
    list_ = lines_ = {};
    pugi::xml_node line = add(parent_, "h3", "", "line");
    if (!block.label.empty()) {
      add(line, "span", block.label, ("decision " + block.label).c_str());
    }
    add_parts(line, block.parts);
  }

  void put_labelled(const TextBlock& block) {
    lines_ = {};
    if (!list_) list_ = add(parent_, "dl");
    if (!block.label.empty() || !list_.first_child()) {
      add(list_, "dt", block.label);
    }
    if (!block.text.empty()) add_words(list_, "dd", block.text);
  }

  void put_item(const TextBlock& block) {
    lines_ = {};
    if (!items_) {
      items_ = add(list_ ? add(list_, "dd") : parent_, "ul");
    }
    add_words(items_, "li", block.text);
  }

  /// Rows of a table that is aligned by blanks.
  void put_lines(const TextBlock& block) {
    if (!lines_) {
      lines_ = add(list_ ? add(list_, "dd") : parent_, "pre");
      lines_.append_attribute("tabindex") = "0";
    }
    std::string text = block.text;
    // Line by line, because a line end is nothing that prints.
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      const std::string line =
          page_lines(printable(text.substr(at, end - at))) + '\n';
      lines_.append_child(pugi::node_pcdata).set_value(line.c_str());
      at = end + 1;
    }
  }

  pugi::xml_node parent_;
  pugi::xml_node list_;
  pugi::xml_node items_;
  pugi::xml_node lines_;
};

}  // namespace

pugi::xml_node add(pugi::xml_node parent, const char* tag,
                   const std::string& text, const char* of) {
  pugi::xml_node node = parent.append_child(tag);
  if (of[0] != '\0') node.append_attribute("class") = of;
  if (!text.empty()) {
    node.append_child(pugi::node_pcdata).set_value(printable(text).c_str());
  }
  return node;
}

pugi::xml_node add_words(pugi::xml_node parent, const char* tag,
                         const std::string& text, const char* of,
                         LineEnds ends) {
  pugi::xml_node node = add(parent, tag, "", of);
  const std::string words = page_words(printable(text), ends);
  const auto put = [&](pugi::xml_node to, std::size_t from, std::size_t end) {
    if (end == from) return;
    to.append_child(pugi::node_pcdata)
        .set_value(words.substr(from, end - from).c_str());
  };
  std::size_t from = 0;
  for (std::size_t at = 0; at < words.size();) {
    const std::size_t end = end_of_option(words, at);
    if (end == at) {
      ++at;
      continue;
    }
    put(node, from, at);
    put(add(node, "span", "", "option"), at, end);
    from = at = end;
  }
  put(node, from, words.size());
  return node;
}

void add_parts(pugi::xml_node line, const std::vector<std::string>& parts) {
  for (const std::string& part : parts) {
    if (part.empty()) continue;
    // A blank, so that words stay apart where nothing is laid out.
    if (line.first_child()) line.append_child(pugi::node_pcdata).set_value(" ");
    add_words(line, "span", with_blanks(part));
  }
}

void add_sentences(pugi::xml_node parent, const char* heading,
                   const std::string& title,
                   const std::vector<std::string>& sentences) {
  if (sentences.empty()) return;
  add(parent, heading, title);
  pugi::xml_node list = add(parent, "ul");
  for (const std::string& s : sentences) add_words(list, "li", s);
}

void add_blocks(pugi::xml_node parent, const std::vector<TextBlock>& blocks) {
  BlockWriter writer(parent);
  for (const TextBlock& block : blocks) writer.put(block);
}

void make_scrollable(pugi::xml_node node, const std::string& what) {
  node.append_attribute("tabindex") = "0";
  node.append_attribute("role") = "region";
  node.append_attribute("aria-label") = printable(what).c_str();
}

HtmlTable::HtmlTable(pugi::xml_node parent, const std::string& caption,
                     std::vector<std::string> columns, CellNames names)
    : columns_(std::move(columns)), is_named_(names == CellNames::kInEach) {
  pugi::xml_node scroll = add(parent, "div", "", "wide");
  make_scrollable(scroll, caption);
  pugi::xml_node table = add(scroll, "table");
  add(table, "caption", caption);
  pugi::xml_node head = add(add(table, "thead"), "tr");
  for (const std::string& name : columns_) {
    const bool is_number = is_number_column(name);
    pugi::xml_node cell =
        add_words(head, "th", name_of(name), is_number ? "number" : "");
    cell.append_attribute("scope") = "col";
  }
  body_ = add(table, "tbody");
}

void HtmlTable::row(const std::vector<std::string>& cells,
                    const std::string& id) {
  pugi::xml_node row = add(body_, "tr");
  const auto is_name = [this](std::size_t i) {
    return i < columns_.size() && columns_[i] == "capture";
  };
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const bool is_wide =
        i + 1 == cells.size() && cells.size() < columns_.size();
    const char* of = !is_wide && is_number_column(columns_[i]) ? "number" : "";
    const bool is_link = i == 0 && !id.empty();
    const std::string text = with_blanks(cells[i]);
    const char* tag = i == 0 ? "th" : "td";
    pugi::xml_node cell =
        is_link || is_name(i)
            ? add(row, tag, is_link ? "" : text, of)
            : add_words(row, tag, text, of, LineEnds::kAnywhere);
    if (is_link) {
      add(cell, "a", text).append_attribute("href") = ("#" + id).c_str();
    }
    if (i == 0) cell.append_attribute("scope") = "row";
    if (is_named_ && i > 0 && i < columns_.size() && !is_wide) {
      cell.append_attribute("data-name") = name_of(columns_[i]).c_str();
    }
    if (is_wide) {
      cell.append_attribute("colspan") =
          static_cast<unsigned>(columns_.size() - i);
    }
  }
}

}  // namespace clockassay
