#include "scores/read_plain.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <functional>
#include <limits>
#include <span>
#include <utility>
#include <vector>

#include "base/parallel.hpp"
#include "scores/interner.hpp"
#include "scores/reading.hpp"
#include "scores/table_builder.hpp"

namespace evenhand::scores {
namespace {

enum Name : std::size_t { rater, scored_case, item, score, names };

struct Header {
  std::array<Name, names> column{};  ///< what stands in each column
  std::size_t columns = 0;
  bool has_item = false;
  bool crlf = false;
  std::size_t end = 0;  ///< where the rows begin
};

/// Nothing for a header that is not plain: only these columns, none twice, the three needed ones there.
std::optional<Header> read_header(std::string_view text) {
  Header header;
  const std::size_t line_end = text.find('\n');
  if (line_end == std::string_view::npos) return std::nullopt;
  std::string_view line = text.substr(0, line_end);
  header.end = line_end + 1;
  header.crlf = line.ends_with('\r');
  if (header.crlf) line.remove_suffix(1);
  if (line.find_first_of("\";\t\r") != std::string_view::npos) return std::nullopt;
  std::array<bool, names> seen{};
  constexpr std::array<std::string_view, names> words{"rater", "case", "item", "score"};
  for (std::size_t begin = 0; begin <= line.size();) {
    const std::size_t end = std::min(line.find(',', begin), line.size());
    const auto known = known_column(line.substr(begin, end - begin));
    const auto at = known ? std::find(words.begin(), words.end(), *known) : words.end();
    if (at == words.end()) return std::nullopt;
    const auto name = static_cast<Name>(at - words.begin());
    if (seen[name]) return std::nullopt;
    seen[name] = true;
    header.column[header.columns++] = name;
    begin = end + 1;
  }
  if (!seen[rater] || !seen[scored_case] || !seen[score]) return std::nullopt;
  header.has_item = seen[item];
  return header;
}

/// Up to eight bytes as a number, the first lowest; fewer at the end of the text.
std::uint64_t eight_bytes(const char* at, const char* end) {
  std::uint64_t word = 0;
  std::memcpy(&word, at, end - at >= 8 ? 8 : static_cast<std::size_t>(end - at));
  return word;
}

/// A bit pattern whose lowest set bit marks the first byte of the word that equals the one repeated.
std::uint64_t marks(std::uint64_t word, std::uint64_t repeated) {
  const std::uint64_t zero_where_equal = word ^ repeated;
  return (zero_where_equal - 0x0101010101010101U) & ~zero_where_equal & 0x8080808080808080U;
}

/// A field of a row: where it stands, and its first eight bytes, zero beyond its end.
struct Piece {
  const char* begin = nullptr;
  std::uint32_t size = 0;
  std::uint64_t word = 0;

  std::string_view text() const { return {begin, size}; }
};

/// Reads a field up to the byte that ends it. Stays nothing when that byte is missing.
const char* read_piece(const char* at, const char* end, char last, Piece& piece) {
  const std::uint64_t word = eight_bytes(at, end);
  const std::uint64_t repeated = 0x0101010101010101U * static_cast<unsigned char>(last);
  const std::uint64_t found = marks(word, repeated);
  piece.begin = at;
  if (found != 0) {
    const auto size = static_cast<std::uint32_t>(std::countr_zero(found)) / 8;
    piece.size = size;
    piece.word = size == 0 ? 0 : word & (~std::uint64_t{0} >> (64 - 8 * size));
    if (at + size < end) return at + size;
  }
  const void* far = at < end ? std::memchr(at, last, static_cast<std::size_t>(end - at)) : nullptr;
  const char* stop = far ? static_cast<const char*>(far) : end;
  piece.size = static_cast<std::uint32_t>(stop - at);
  piece.word = piece.size >= 8 ? word : word & ((std::uint64_t{1} << (8 * piece.size)) - 1);
  return stop;
}

void drop_carriage_return(Piece& piece) {
  if (piece.size == 0 || piece.begin[piece.size - 1] != '\r') return;
  --piece.size;
  if (piece.size < 8) piece.word &= (std::uint64_t{1} << (8 * piece.size)) - 1;
}

/// Numbers names in order of first appearance, by their first eight bytes where that is all of them.
/// Files mostly go through their names in order, so the last name and the one after it are tried first.
class PieceNames {
 public:
  PieceNames() { of_byte_.fill(nothing); }

  std::uint32_t number(const Piece& piece) {
    if (piece.size == 1) {
      std::uint32_t& known = of_byte_[piece.word & 0xFFU];
      if (known == nothing) known = add(piece);
      return known;
    }
    for (const std::size_t guess : {std::size_t{last_}, std::size_t{last_} + 1})
      if (guess < names_.size() && same(names_[guess], piece))
        return last_ = static_cast<std::uint32_t>(guess);
    return last_ = look_up(piece);
  }
  const std::vector<Piece>& names() const { return names_; }

 private:
  static bool same(const Piece& a, const Piece& b) {
    return a.word == b.word && a.size == b.size && (a.size <= 8 || a.text() == b.text());
  }
  static std::size_t hash(const Piece& piece) {
    if (piece.size > 8) return std::hash<std::string_view>{}(piece.text());
    const std::uint64_t mixed = (piece.word ^ piece.size) * 0x9E3779B97F4A7C15U;
    return static_cast<std::size_t>(mixed ^ (mixed >> 32U));
  }
  std::uint32_t add(const Piece& piece) {
    names_.push_back(piece);
    return static_cast<std::uint32_t>(names_.size() - 1);
  }
  std::uint32_t look_up(const Piece& piece) {
    if (2 * (names_.size() + 1) > slots_.size()) grow();
    std::size_t at = hash(piece) & (slots_.size() - 1);
    for (; slots_[at] != nothing; at = (at + 1) & (slots_.size() - 1))
      if (same(names_[slots_[at]], piece)) return slots_[at];
    return slots_[at] = add(piece);
  }
  void grow() {
    slots_.assign(std::max<std::size_t>(64, 2 * slots_.size()), nothing);
    for (std::uint32_t i = 0; i < names_.size(); ++i) {
      std::size_t at = hash(names_[i]) & (slots_.size() - 1);
      while (slots_[at] != nothing) at = (at + 1) & (slots_.size() - 1);
      slots_[at] = i;
    }
  }

  std::uint32_t last_ = 0;
  std::vector<Piece> names_;
  std::vector<std::uint32_t> slots_;  // a power of two, at most half full
  std::array<std::uint32_t, 256> of_byte_{};
};

/// The rows between two line ends.
struct Chunk {
  std::array<PieceNames, names> known;
  std::array<Codes, names> codes;
  std::vector<std::uint32_t> gaps;  ///< rows before which a line was skipped, once for each line
  std::size_t rows = 0;
  std::size_t blank_lines = 0;
  std::size_t not_scored = 0;
  bool plain = true;
};

/// Whether the general reader would take the name as it stands. A row with a field too few or too many
/// shows here: one of its names has a separator or a line end inside.
bool is_plain(Name name, std::string_view text) {
  if (text.find_first_of(",\"\r\n") != std::string_view::npos) return false;
  return name == score ? !flaw_of_category(text) : !flaw_of_id(text);
}

bool names_are_plain(const Chunk& chunk) {
  for (const Name name : {rater, scored_case, item, score})
    for (const Piece& piece : chunk.known[name].names())
      if (!is_plain(name, piece.text())) return false;
  return true;
}

/// A few thousand rows on their way into the columns.
class Block {
 public:
  explicit Block(Chunk& chunk, bool has_item) : chunk_(chunk), has_item_(has_item) {}
  void add(const std::array<Piece, names>& row) {
    codes_[rater][filled_] = chunk_.known[rater].number(row[rater]);
    codes_[scored_case][filled_] = chunk_.known[scored_case].number(row[scored_case]);
    if (has_item_) codes_[item][filled_] = chunk_.known[item].number(row[item]);
    codes_[score][filled_] = chunk_.known[score].number(row[score]);
    ++chunk_.rows;
    if (++filled_ == size) flush();
  }
  void flush() {
    for (const Name name : {rater, scored_case, item, score})
      if (name != item || has_item_) chunk_.codes[name].append(std::span(codes_[name]).first(filled_));
    filled_ = 0;
  }

 private:
  static constexpr std::size_t size = 4096;
  Chunk& chunk_;
  bool has_item_;
  std::size_t filled_ = 0;
  std::array<std::array<std::uint32_t, size>, names> codes_;
};

/// Reads a row's fields and returns its end: its line feed, or the end of the text.
const char* read_fields(const char* at, const char* end, const Header& header,
                        std::array<Piece, names>& row) {
  for (std::size_t column = 0; column + 1 < header.columns; ++column) {
    at = read_piece(at, end, ',', row[header.column[column]]);
    if (at == end) return nullptr;
    ++at;
  }
  at = read_piece(at, end, '\n', row[header.column[header.columns - 1]]);
  drop_carriage_return(row[header.column[header.columns - 1]]);
  return at;
}

void read_chunk(std::string_view text, const Header& header, Chunk& chunk) {
  Block block(chunk, header.has_item);
  std::array<Piece, names> row;
  const char* at = text.data();
  const char* const end = at + text.size();
  chunk.plain = false;
  for (; at < end; ++at) {
    if (*at == '\n' || (*at == '\r' && at + 1 < end && at[1] == '\n')) {
      at += *at == '\r' ? 1 : 0;
      ++chunk.blank_lines;
      chunk.gaps.push_back(static_cast<std::uint32_t>(chunk.rows));
      continue;
    }
    at = read_fields(at, end, header, row);
    if (at == nullptr || row[rater].size == 0 || row[scored_case].size == 0) return;
    if (header.has_item && row[item].size == 0) return;
    if (row[score].size == 0) {
      if (!is_plain(rater, row[rater].text()) || !is_plain(scored_case, row[scored_case].text())) return;
      if (header.has_item && !is_plain(item, row[item].text())) return;
      ++chunk.not_scored;
      chunk.gaps.push_back(static_cast<std::uint32_t>(chunk.rows));
    } else {
      block.add(row);
    }
    if (at == end) break;
  }
  block.flush();
  chunk.plain = names_are_plain(chunk);
}

/// About how many rows a text holds, going by its first lines: rather too many, as room that is not used
/// costs nothing, and room that grows is touched twice.
std::size_t rows_in(std::string_view text) {
  const std::string_view sample = text.substr(0, std::size_t{1} << 16U);
  const auto lines = static_cast<std::size_t>(std::count(sample.begin(), sample.end(), '\n'));
  return sample.empty() ? 0 : (text.size() / sample.size() + 1) * (lines + lines / 16 + 1);
}

/// Cuts the text behind line feeds into about as many pieces as wanted.
std::vector<std::string_view> cut(std::string_view text, std::size_t pieces) {
  constexpr std::size_t smallest = std::size_t{1} << 16U;
  const std::size_t size = std::max(smallest, text.size() / std::max<std::size_t>(pieces, 1) + 1);
  std::vector<std::string_view> parts;
  while (!text.empty()) {
    const std::size_t line_end = text.find('\n', std::min(size, text.size()) - 1);
    const std::size_t end = line_end == std::string_view::npos ? text.size() : line_end + 1;
    parts.push_back(text.substr(0, end));
    text.remove_prefix(end);
  }
  return parts;
}

/// The names of all chunks in order of first appearance, and the codes renumbered to them.
template <class T>
void join(std::vector<Chunk>& chunks, Name name, std::vector<T>& known, Codes& column) {
  Interner<T> interner;
  for (Chunk& chunk : chunks) {
    std::vector<std::uint32_t> now;
    for (const Piece& piece : chunk.known[name].names()) now.push_back(interner.intern(piece.text()).index);
    if (&chunk == &chunks.front())
      column = std::move(chunk.codes[name]);  // its numbers are the final ones
    else
      column.append(chunk.codes[name], now);
    chunk.codes[name] = Codes();
  }
  known = std::move(interner).take();
}

/// A bit for each (rater, case, item), for a stretch of rows. Nothing when one of them stands twice.
using Seen = std::vector<std::uint64_t>;
std::optional<Seen> seen_in(const ScoreTable& table, std::size_t cells, std::size_t begin, std::size_t end) {
  Seen seen(cells / 64 + 1);
  const std::size_t cases = table.cases().size();
  const std::size_t items = std::max<std::size_t>(table.items().size(), 1);
  std::uint64_t twice = 0;
  table.each_block(begin, end, [&](const ScoreTable::Block& rows, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t item_place = rows.item[i] == nothing ? 0 : rows.item[i];
      const std::size_t cell = (rows.rater[i] * cases + rows.scored_case[i]) * items + item_place;
      const std::uint64_t bit = std::uint64_t{1} << (cell % 64);
      twice |= seen[cell / 64] & bit;
      seen[cell / 64] |= bit;
    }
  });
  if (twice != 0) return std::nullopt;
  return seen;
}

/// Whether no (rater, case, item) stands twice. Nothing where the grid is too thin for a bit a cell.
std::optional<bool> all_differ(const ScoreTable& table, std::size_t threads) {
  const double items = static_cast<double>(std::max<std::size_t>(table.items().size(), 1));
  const double cells =
      static_cast<double>(table.raters().size()) * static_cast<double>(table.cases().size()) * items;
  if (cells > 256.0 * static_cast<double>(table.size()) + 1e6) return std::nullopt;
  const std::size_t stretches =
      std::clamp<std::size_t>(table.size() / 65536, 1, std::max<std::size_t>(threads, 1));
  std::vector<std::optional<Seen>> seen(stretches);
  base::in_parallel(stretches, threads, [&](std::size_t i) {
    seen[i] = seen_in(table, static_cast<std::size_t>(cells), table.size() * i / stretches,
                      table.size() * (i + 1) / stretches);
  });
  for (std::size_t i = 0; i < stretches; ++i) {
    if (!seen[i]) return false;
    for (std::size_t word = 0; i > 0 && word < seen[i]->size(); ++word) {
      if (((*seen[0])[word] & (*seen[i])[word]) != 0) return false;
      (*seen[0])[word] |= (*seen[i])[word];
    }
  }
  return true;
}

Lines lines_of(const std::vector<Chunk>& chunks) {
  Lines lines;
  std::uint32_t line = 2;  // the header is the first
  for (const Chunk& chunk : chunks) {
    std::size_t row = 0;
    for (const std::uint32_t gap : chunk.gaps) {
      lines.append(gap - row, line);
      line += static_cast<std::uint32_t>(gap - row) + 1;
      row = gap;
    }
    lines.append(chunk.rows - row, line);
    line += static_cast<std::uint32_t>(chunk.rows - row);
  }
  return lines;
}

}  // namespace

std::optional<PlainTable> PlainTable::read(std::string_view text, const std::string& name,
                                           std::size_t threads) {
  if constexpr (std::endian::native != std::endian::little) return std::nullopt;
  if (text.size() > document::CsvLimits{}.bytes) return std::nullopt;
  const auto header = read_header(text);
  if (!header) return std::nullopt;
  const std::string_view rows = text.substr(header->end);
  const auto parts = cut(rows, threads);
  std::vector<Chunk> chunks(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i)  // the others' codes go behind those of the first
    for (std::size_t column = 0; column < header->columns; ++column)
      chunks[i].codes[header->column[column]].reserve(rows_in(i == 0 ? rows : parts[i]));
  base::in_parallel(parts.size(), threads, [&](std::size_t i) { read_chunk(parts[i], *header, chunks[i]); });

  PlainTable plain;
  plain.crlf = header->crlf;
  for (const Chunk& chunk : chunks) {
    if (!chunk.plain) return std::nullopt;
    plain.blank_lines += chunk.blank_lines;
    plain.not_scored += chunk.not_scored;
  }
  ScoreTable& table = plain.table;
  table.source_ = name;
  base::in_parallel(names, threads, [&](std::size_t column) {
    if (column == rater) join(chunks, rater, table.raters_, table.rater_);
    if (column == scored_case) join(chunks, scored_case, table.cases_, table.case_);
    if (column == item && header->has_item) join(chunks, item, table.items_, table.item_);
    if (column == score) join(chunks, score, table.categories_, table.category_);
  });
  table.line_ = lines_of(chunks);
  shorten_numbers(table.categories_, table.category_);
  if (table.empty() || all_differ(table, threads) != true) return std::nullopt;
  return plain;
}

}  // namespace evenhand::scores
