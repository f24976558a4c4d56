#include "document/yaml.hpp"

#include <algorithm>
#include <cstdint>
#include <istream>
#include <memory>
#include <streambuf>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include "document/quote.hpp"
#include "document/utf8.hpp"

namespace evenhand::document {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

// Ends the parse; the fault is added before it is thrown.
struct Stop {};

// Lines and columns of the parser's marks, whose columns count bytes.
class Places {
 public:
  Places(std::string_view bytes, std::string_view name)
      : bytes_(bytes), file_(std::make_shared<const std::string>(name)) {}

  // Marks come in order, so the count goes on from the last one; only the place of a
  // last fault may lie before it.
  Origin at(std::size_t offset) {
    offset = std::min(offset, bytes_.size());
    if (offset < offset_) {
      offset_ = 0;
      place_ = {1, 1};
    }
    const LineColumn step = line_column(bytes_.substr(offset_), offset - offset_);
    place_.column = step.line > 1 ? step.column : place_.column + step.column - 1;
    place_.line += step.line - 1;
    offset_ = offset;
    return {.file = file_, .line = place_.line, .column = place_.column};
  }
  Origin at(const YAML::Mark& mark) { return at(mark.pos < 0 ? 0 : static_cast<std::size_t>(mark.pos)); }

  Location location(std::size_t offset) { return to_location(at(offset)); }
  char byte(std::size_t offset) const { return offset < bytes_.size() ? bytes_[offset] : '\0'; }

  // The line that begins a further document, from `offset` on.
  std::size_t next_document(std::size_t offset) const {
    const std::size_t found = bytes_.find("\n---", offset);
    return found == std::string_view::npos ? offset : found + 1;
  }

  // Whether the quoted text that begins at `offset` ends: the parser takes one that runs
  // to the end of the file when a line feed comes last.
  bool is_closed(std::size_t offset) const {
    const char quote_mark = byte(offset);
    if (quote_mark != '"' && quote_mark != '\'') return true;
    for (std::size_t i = offset + 1; i < bytes_.size(); ++i) {
      const bool escapes_next =
          quote_mark == '"' ? bytes_[i] == '\\' : bytes_[i] == quote_mark && byte(i + 1) == quote_mark;
      if (escapes_next)
        ++i;
      else if (bytes_[i] == quote_mark)
        return true;
    }
    return false;
  }

  // The end of what was written before `offset`: where a value that was left out belongs.
  std::size_t last_written_before(std::size_t offset) const {
    offset = std::min(offset, bytes_.size());
    while (offset > 0 && std::string_view(" \t\r\n").find(bytes_[offset - 1]) != std::string_view::npos)
      --offset;
    return offset == 0 ? 0 : offset - 1;
  }

 private:
  std::string_view bytes_;
  std::shared_ptr<const std::string> file_;
  std::size_t offset_ = 0;
  LineColumn place_{1, 1};
};

// Builds the tree from the parser's events and refuses what has no place in a document.
class Builder : public YAML::EventHandler {
 public:
  Builder(Places& places, Faults& faults, const YamlLimits& limits)
      : places_(places), faults_(faults), limits_(limits) {}

  std::optional<Value> take() { return std::move(root_); }
  // How far the text has been answered by events.
  std::size_t seen() const { return seen_; }

  void OnDocumentStart(const YAML::Mark&) override {}
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    begin(mark, "", anchor);
    const auto offset = static_cast<std::size_t>(std::max(mark.pos, 0));
    if (key_is_next()) {
      faults_.add(places_.location(offset), "a key is missing before the colon", "write the key");
      return take_key("", places_.at(offset), false);
    }
    // The mark of a value that was left out is that of what follows, often on another line.
    const bool in_mapping = !stack_.empty() && stack_.back().kind == Value::Kind::mapping;
    const bool written = std::string_view("~&!").find(places_.byte(offset)) != std::string_view::npos;
    const Origin origin = written      ? places_.at(offset)
                          : in_mapping ? stack_.back().key_origin
                                       : places_.at(places_.last_written_before(offset));
    add(Value::scalar("", Style::plain, origin));
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    begin(mark, "", 0);
    const Origin origin = places_.at(mark);
    faults_.add(to_location(origin), "aliases (`*name`) are not allowed", "write the value out");
    if (key_is_next()) return take_key("", origin, false);
    add(Value::scalar("", Style::plain, origin));
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& text) override {
    begin(mark, tag, anchor);
    Origin origin = places_.at(mark);
    if (text.size() > limits_.scalar)
      stop(to_location(origin), fmt::format("a text of {} bytes is too long", text.size()),
           fmt::format("keep it to {} bytes", limits_.scalar));
    const auto offset = static_cast<std::size_t>(std::max(mark.pos, 0));
    if (tag == "!" && !places_.is_closed(offset))
      stop(to_location(origin), "the quote that opens here is never closed", "close the quote");
    refuse_escaped(text, to_location(origin));
    if (key_is_next()) return take_key(text, std::move(origin), true);
    add(Value::scalar(text, tag == "!" ? Style::quoted : Style::plain, std::move(origin)));
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(Value::Kind::sequence, mark, tag, anchor);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(Value::Kind::mapping, mark, tag, anchor);
  }
  void OnMapEnd() override { close(); }

 private:
  // A collection that is not complete yet.
  struct Open {
    Value::Kind kind;
    Origin origin;
    bool is_key = false;  // it stands where a key belongs
    std::vector<Value> items{};
    std::vector<Value::Entry> entries{};
    std::unordered_map<std::string, int> lines{};  // key -> line of its first use
    bool has_key = false;                          // a key waits for its value
    bool keep = false;                             // the waiting key may enter the mapping
    std::string key{};
    Origin key_origin{};
  };

  [[noreturn]] void stop(Location at, std::string what, std::string mend) {
    faults_.add(std::move(at), std::move(what), std::move(mend));
    throw Stop{};
  }

  bool key_is_next() const {
    return !stack_.empty() && stack_.back().kind == Value::Kind::mapping && !stack_.back().has_key;
  }

  // What holds for every node.
  void begin(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    const auto offset = static_cast<std::size_t>(std::max(mark.pos, 0));
    seen_ = std::max(seen_, offset);
    if (++nodes_ > limits_.nodes)
      stop(places_.location(offset), fmt::format("more than {} values", limits_.nodes),
           "split the file into smaller ones");
    if (anchor != 0)
      faults_.add(places_.location(offset), "anchors (`&name`) are not allowed", "leave the anchor out");
    // Without a tag the parser says "?" for plain and "!" for quoted text.
    const bool tagged = (!tag.empty() && tag != "?" && tag != "!") || places_.byte(offset) == '!';
    if (tagged) faults_.add(places_.location(offset), "tags (`!name`) are not allowed", "leave the tag out");
  }

  void refuse_escaped(const std::string& text, const Location& at) {
    if (const auto hidden = first_hidden_character(text))
      faults_.add(at,
                  fmt::format("the text contains the hidden character U+{:04X}",
                              static_cast<std::uint32_t>(hidden->character)),
                  "leave it out");
  }

  void take_key(std::string key, Origin origin, bool good) {
    Open& mapping = stack_.back();
    if (good) {
      const auto [first, is_new] = mapping.lines.emplace(key, origin.line);
      if (!is_new)
        faults_.add(to_location(origin),
                    fmt::format("the key {} stands on line {} and again on line {}", quote(key),
                                first->second, origin.line),
                    "keep one of the two");
    }
    mapping.has_key = true;
    mapping.keep = good;
    mapping.key = std::move(key);
    mapping.key_origin = std::move(origin);
  }

  void open(Value::Kind kind, const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    begin(mark, tag, anchor);
    Origin origin = places_.at(mark);
    if (stack_.size() == limits_.depth)
      stop(to_location(origin),
           fmt::format("more than {} lists and mappings inside one another", limits_.depth),
           "flatten the structure");
    const bool is_key = key_is_next();
    if (is_key)
      faults_.add(to_location(origin), "a list or mapping cannot be a key", "write a plain text as the key");
    stack_.push_back({.kind = kind, .origin = std::move(origin), .is_key = is_key});
  }

  void close() {
    Open done = std::move(stack_.back());
    stack_.pop_back();
    if (done.is_key) return take_key("", std::move(done.origin), false);
    add(done.kind == Value::Kind::sequence ? Value::sequence(std::move(done.items), std::move(done.origin))
                                           : Value::mapping(std::move(done.entries), std::move(done.origin)));
  }

  void add(Value value) {
    if (stack_.empty()) {
      root_ = std::move(value);
      return;
    }
    Open& parent = stack_.back();
    if (parent.kind == Value::Kind::sequence) {
      parent.items.push_back(std::move(value));
      return;
    }
    if (parent.keep)
      parent.entries.push_back({std::move(parent.key), std::move(parent.key_origin), std::move(value)});
    parent.has_key = false;
  }

  Places& places_;
  Faults& faults_;
  const YamlLimits& limits_;
  std::vector<Open> stack_;
  std::optional<Value> root_;
  std::size_t nodes_ = 0;
  std::size_t seen_ = 0;
};

// Hands the text to the parser in small pieces, and stops when the parser takes in much
// without an event: it is then queueing tokens, some 230 bytes for each byte of `[[[[`.
class Feed : public std::streambuf {
 public:
  Feed(std::string_view bytes, const Builder& builder, Places& places, Faults& faults,
       const YamlLimits& limits)
      : bytes_(bytes), builder_(builder), places_(places), faults_(faults), limits_(limits) {}

 protected:
  int_type underflow() override {
    constexpr std::size_t piece = 1024;
    if (given_ > builder_.seen() + limits_.unseen) {
      faults_.add(places_.location(builder_.seen()),
                  fmt::format("what begins here goes on for more than {} bytes", limits_.unseen),
                  "close the bracket or quote, or write a long list as lines that begin with `- `");
      throw Stop{};
    }
    const std::string_view next = bytes_.substr(given_, piece);
    if (next.empty()) return traits_type::eof();
    given_ += next.size();
    piece_.assign(next);
    setg(piece_.data(), piece_.data(), piece_.data() + piece_.size());
    return traits_type::to_int_type(piece_.front());
  }

 private:
  std::string_view bytes_;
  const Builder& builder_;
  Places& places_;
  Faults& faults_;
  const YamlLimits& limits_;
  std::size_t given_ = 0;
  std::string piece_;
};

std::string_view mend_for(std::string_view message) {
  if (message == YAML::ErrorMsg::MAP_VALUE)
    return "a text that contains a colon and a blank must stand in quotes";
  if (message == YAML::ErrorMsg::TAB_IN_INDENTATION) return "indent with blanks";
  if (message == YAML::ErrorMsg::EOF_IN_SCALAR) return "close the quote";
  if (message == YAML::ErrorMsg::END_OF_SEQ_FLOW)
    return "close the `[` with `]`, and put commas between items";
  if (message == YAML::ErrorMsg::END_OF_MAP_FLOW)
    return "close the `{` with `}`, and put commas between entries";
  return "look here and on the line before for a missing colon, quote or bracket, or a wrong indent";
}

// Whether a document was read to its end.
bool parse(std::istream& stream, Builder& builder, Places& places, std::string_view name, Faults& faults) {
  const Location start{.file = std::string(name), .line = 1, .column = 1};
  try {
    YAML::Parser parser(stream);
    if (!parser.HandleNextDocument(builder)) {
      faults.add(start, "the file is empty", "write at least one key and its value");
      return false;
    }
    if (parser)
      faults.add(places.location(places.next_document(builder.seen())), "a second document begins",
                 "keep one document a file");
    return true;
  } catch (const Stop&) {
    return false;
  } catch (const YAML::Exception& error) {
    const bool placed = !error.mark.is_null();
    faults.add(placed ? to_location(places.at(error.mark)) : start, "this is not YAML: " + error.msg,
               std::string(mend_for(error.msg)));
    return false;
  }
}

}  // namespace

bool is_plain_text(std::string_view bytes, std::string_view name, Faults& faults, const YamlLimits& limits) {
  if (bytes.starts_with(byte_order_mark)) bytes.remove_prefix(byte_order_mark.size());
  const auto at = [&](std::size_t offset) {
    const LineColumn place = line_column(bytes, offset);
    return Location{.file = std::string(name), .line = place.line, .column = place.column};
  };
  if (bytes.size() > limits.bytes) {
    faults.add(at(limits.bytes), fmt::format("the file has {} bytes", bytes.size()),
               fmt::format("split it: {} bytes are allowed", limits.bytes));
    return false;
  }
  if (const auto wrong = first_not_utf8(bytes)) {
    faults.add(at(*wrong),
               fmt::format("the text is not UTF-8: byte 0x{:02X}", static_cast<unsigned char>(bytes[*wrong])),
               "save the file as UTF-8");
    return false;
  }
  constexpr int most_hidden = 20;
  std::size_t from = 0;
  for (int n = 0; n < most_hidden; ++n) {
    const auto hidden = first_hidden_character(bytes.substr(from));
    if (!hidden) break;
    const auto code = static_cast<std::uint32_t>(hidden->character);
    if (code == '\r')
      faults.add(at(from + hidden->at), "a carriage return without a line feed",
                 "save the file with LF or CRLF line ends");
    else
      faults.add(at(from + hidden->at), fmt::format("the hidden character U+{:04X} is not allowed", code),
                 "delete it; it does not show in most editors");
    from += hidden->at + hidden->size;
  }
  return from == 0;
}

std::optional<Value> read_yaml(std::string_view bytes, std::string_view name, Faults& faults,
                               const YamlLimits& limits) {
  if (!is_plain_text(bytes, name, faults, limits)) return std::nullopt;
  if (bytes.starts_with(byte_order_mark)) bytes.remove_prefix(byte_order_mark.size());

  Places places(bytes, name);
  Builder builder(places, faults, limits);
  Feed feed(bytes, builder, places, faults, limits);
  std::istream stream(&feed);
  if (!parse(stream, builder, places, name, faults)) return std::nullopt;
  return builder.take();
}

}  // namespace evenhand::document
