#include "document/csv.hpp"

#include <algorithm>
#include <cstring>
#include <utility>

#include <fmt/format.h>

#include "document/decimal.hpp"
#include "document/quote.hpp"
#include "document/utf8.hpp"

namespace evenhand::document {
namespace {

constexpr std::string_view separators = ",;\t";

std::string_view trim(std::string_view text) {
  while (text.starts_with(' ') || text.starts_with('\t')) text.remove_prefix(1);
  while (text.ends_with(' ') || text.ends_with('\t')) text.remove_suffix(1);
  return text;
}

std::string_view plural(std::size_t n) { return n == 1 ? "" : "s"; }

}  // namespace

std::string_view separator_name(char separator) {
  switch (separator) {
    case ';':
      return "semicolon";
    case '\t':
      return "tab";
    default:
      return "comma";
  }
}

CsvReader::CsvReader(std::string_view bytes, std::string_view name, const CsvLimits& limits)
    : bytes_(bytes), name_(name), limits_(limits) {
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  if (bytes_.starts_with(byte_order_mark)) {
    form_.byte_order_mark = true;
    bytes_.remove_prefix(byte_order_mark.size());
  }
}

Result<CsvReader> CsvReader::open(std::string_view bytes, std::string_view name, const CsvLimits& limits) {
  if (bytes.size() > limits.bytes)
    return fail(Errc::invalid, "{}:{}: the file has {} bytes; split it: {} bytes are allowed", name,
                line_column(bytes, limits.bytes).line, bytes.size(), limits.bytes);
  if (const auto wrong = first_not_utf8(bytes))
    return fail(Errc::invalid, "{}:{}: the text is not UTF-8 (byte 0x{:02X}); save the file as UTF-8", name,
                line_column(bytes, *wrong).line, static_cast<unsigned char>(bytes[*wrong]));

  CsvReader reader(bytes, name, limits);
  reader.skip_blank_lines();
  if (reader.at_ == reader.bytes_.size())
    return fail(Errc::invalid, "{}:1: the file is empty; it needs a header row with the names of the columns",
                name);
  reader.find_separator();
  CsvRow row;
  if (auto read = reader.read_row(row); !read) return tl::unexpected(std::move(read.error()));
  reader.header_.assign(row.fields.begin(), row.fields.end());
  reader.header_line_ = row.line;
  return reader;
}

std::optional<std::size_t> CsvReader::column(std::string_view name) const {
  const auto found = std::find(header_.begin(), header_.end(), name);
  if (found == header_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - header_.begin());
}

Result<bool> CsvReader::next(CsvRow& row) {
  skip_blank_lines();
  if (at_ == bytes_.size()) return false;
  const std::size_t at = at_;
  const std::size_t line = line_;
  auto read = read_row(row);
  if (read && row.fields.size() != header_.size())
    read = fail(Errc::invalid, "{}:{}: {} field{} where the header (line {}) has {}; the separator is a {}",
                name_, row.line, row.fields.size(), plural(row.fields.size()), header_line_, header_.size(),
                separator_name(form_.separator));
  if (read) return true;
  at_ = at;
  line_ = line;
  return tl::unexpected(std::move(read.error()));
}

// The separator found most often in the header outside quotes; the comma when there is none.
void CsvReader::find_separator() {
  std::array<std::size_t, separators.size()> counts{};
  bool in_quotes = false;
  for (const char c : bytes_.substr(at_)) {
    if (c == '"') in_quotes = !in_quotes;
    if (in_quotes) continue;
    if (c == '\n') break;
    const std::size_t which = separators.find(c);
    if (which != std::string_view::npos) ++counts[which];
  }
  const auto most = std::max_element(counts.begin(), counts.end());
  form_.separator = separators[static_cast<std::size_t>(most - counts.begin())];
  for (const char c : {form_.separator, '\n', '\r', '"', '\0'})
    ends_plain_[static_cast<unsigned char>(c)] = true;
  const std::size_t line_end = bytes_.find('\n', at_);
  form_.crlf = line_end != std::string_view::npos && line_end > at_ && bytes_[line_end - 1] == '\r';
}

bool CsvReader::at_line_end() const {
  return bytes_[at_] == '\n' || (bytes_[at_] == '\r' && at_ + 1 < bytes_.size() && bytes_[at_ + 1] == '\n');
}

void CsvReader::skip_blank_lines() {
  while (at_ < bytes_.size() && at_line_end()) {
    at_ += bytes_[at_] == '\n' ? 1 : 2;
    ++line_;
    ++blank_lines_;
  }
}

Result<void> CsvReader::read_row(CsvRow& row) {
  fields_.clear();
  unescaped_.clear();
  row.line = line_;
  while (true) {
    if (fields_.size() == limits_.columns)
      return fail(Errc::invalid, "{}:{}: more than {} columns", name_, row.line, limits_.columns);
    const bool quoted = at_ < bytes_.size() && bytes_[at_] == '"';
    if (!(quoted ? read_quoted() : read_plain())) return fail(Errc::invalid, "{}", refused_);
    if (at_ == bytes_.size()) break;
    if (at_line_end()) {
      at_ += bytes_[at_] == '\n' ? 1 : 2;
      ++line_;
      break;
    }
    ++at_;  // the separator
  }
  row.fields = fields_;
  return {};
}

bool CsvReader::refuse(std::size_t line, std::string_view what) {
  refused_ = fmt::format("{}:{}: {}", name_, line, what);
  return false;
}

// Up to a separator, a line end or the end of the file.
bool CsvReader::read_plain() {
  const std::size_t start = at_;
  while (at_ < bytes_.size() && !ends_plain_[static_cast<unsigned char>(bytes_[at_])]) ++at_;
  const std::string_view field = bytes_.substr(start, at_ - start);
  if (at_ < bytes_.size() && bytes_[at_] != form_.separator && !at_line_end()) {
    if (bytes_[at_] == '"')
      return refuse(line_,
                    fmt::format("a quote inside the field that begins with {}; put the whole field in quotes "
                                "and double the quotes inside",
                                quote(field)));
    if (bytes_[at_] == '\r')
      return refuse(line_, "a carriage return without a line feed; save the file with LF or CRLF line ends");
    return refuse(line_, "a NUL byte; save the file as CSV in UTF-8");
  }
  if (field.size() > limits_.field)
    return refuse(line_, fmt::format("a field of {} bytes; {} are allowed", field.size(), limits_.field));
  fields_.push_back(field);
  return true;
}

// A field in quotes, with the quotes inside doubled; ends where read_plain does.
bool CsvReader::read_quoted() {
  const std::size_t first_line = line_;
  std::size_t start = ++at_;
  std::string* joined = nullptr;
  std::string_view piece;
  while (true) {
    const std::size_t end = bytes_.find('"', start);
    if (end == std::string_view::npos)
      return refuse(first_line,
                    "the quote that opens a field here is never closed; close it, or double it inside");
    piece = bytes_.substr(start, end - start);
    if (piece.find('\0') != std::string_view::npos)
      return refuse(first_line, "a NUL byte in a field in quotes; save the file as CSV in UTF-8");
    line_ += static_cast<std::size_t>(std::count(piece.begin(), piece.end(), '\n'));
    if (piece.size() + (joined ? joined->size() : 0) > limits_.field)
      return refuse(first_line,
                    fmt::format("the field in quotes has more than {} bytes; is its end quote missing?",
                                limits_.field));
    at_ = end + 1;
    const bool doubled = at_ < bytes_.size() && bytes_[at_] == '"';
    if (!doubled) break;
    if (!joined) joined = &unescaped_.emplace_back();
    joined->append(piece).push_back('"');
    start = ++at_;
  }
  if (at_ < bytes_.size() && bytes_[at_] != form_.separator && !at_line_end())
    return refuse(line_,
                  fmt::format("text after the closing quote of {}; end the field there, or double the quote",
                              quote(joined ? *joined + std::string(piece) : piece)));
  if (joined) joined->append(piece);
  fields_.push_back(joined ? std::string_view(*joined) : piece);
  return true;
}

std::optional<double> parse_decimal(std::string_view text, bool decimal_comma) {
  text = trim(text);
  if (text.starts_with('+')) {
    text.remove_prefix(1);
    if (text.starts_with('-')) return std::nullopt;
  }
  const bool minus = text.starts_with('-');
  const std::string_view digits = text.substr(minus ? 1 : 0);
  const bool has_comma = decimal_comma && digits.find(',') != std::string_view::npos;
  if (!has_comma && !digits.starts_with('.')) return plain_decimal(text);

  std::string plain = minus ? "-" : "";
  if (digits.starts_with('.') || digits.starts_with(',')) plain += '0';
  plain += digits;
  if (has_comma) {
    if (plain.find('.') != std::string::npos) return std::nullopt;
    plain[plain.find(',')] = '.';
  }
  return plain_decimal(plain);
}

}  // namespace evenhand::document
