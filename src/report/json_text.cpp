#include "report/json_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include <nlohmann/json.hpp>

namespace evenhand::report {
namespace {

template <class Number>
std::string_view digits_of(Number number, std::array<char, 32>& room) {
  const auto end = std::to_chars(room.data(), room.data() + room.size(), number).ptr;
  return {room.data(), static_cast<std::size_t>(end - room.data())};
}

bool needs_no_escape(std::string_view words) {
  return std::all_of(words.begin(), words.end(),
                     [](char c) { return c >= ' ' && c <= '~' && c != '"' && c != '\\'; });
}

}  // namespace

void JsonText::Place::operator=(double number) {
  std::array<char, 32> room;
  const std::string_view digits = digits_of(number, room);
  text_ += digits;
  // Whole numbers stay measured ones to whoever tells the two apart.
  if (digits.find_first_of(".e") == std::string_view::npos) text_ += ".0";
}

void JsonText::Place::operator=(std::size_t number) {
  std::array<char, 32> room;
  text_ += digits_of(number, room);
}

void JsonText::Place::operator=(std::string_view words) {
  if (needs_no_escape(words)) {
    text_ += '"';
    text_ += words;
    text_ += '"';
  } else {
    text_ += nlohmann::json(words).dump();
  }
}

JsonText::Place JsonText::operator[](std::string_view name) {
  if (!text_.empty()) text_ += ',';
  text_ += '"';
  text_ += name;
  text_ += "\":";
  return Place(text_);
}

void JsonText::list(std::string_view name, std::string_view first, std::string_view second) {
  (*this)[name];
  text_ += '[';
  Place{text_} = first;
  text_ += ',';
  Place{text_} = second;
  text_ += ']';
}

void JsonText::list(std::string_view name, const double* first, const double* second) {
  (*this)[name];
  const auto put = [&](const double* number) {
    if (number)
      Place{text_} = *number;
    else
      Place{text_} = nullptr;
  };
  text_ += '[';
  put(first);
  text_ += ',';
  put(second);
  text_ += ']';
}

void JsonText::append_to(std::string& text) const {
  text += '{';
  text += text_;
  text += '}';
}

}  // namespace evenhand::report
