#include "cases/case.hpp"

namespace evenhand::cases {

std::string_view to_string(Status status) {
  switch (status) {
    case Status::not_tested:
      return "not-tested";
    case Status::omitted:
      return "omitted";
    case Status::refused:
      return "refused";
    case Status::unsafe:
      return "unsafe";
    case Status::cannot_rate:
      return "cannot-rate";
  }
  return "";
}

std::string_view to_string(External::Kind kind) {
  switch (kind) {
    case External::Kind::film:
      return "film";
    case External::Kind::live:
      return "live";
  }
  return "";
}

std::string_view to_string(Share share) {
  switch (share) {
    case Share::typical:
      return "typical";
    case Share::mild:
      return "mild";
    case Share::moderate:
      return "moderate";
    case Share::marked:
      return "marked";
    case Share::barely_stands:
      return "barely-stands";
  }
  return "";
}

std::string_view to_string(Side side) { return side == Side::left ? "left" : "right"; }

std::string_view to_string(Toward toward) {
  switch (toward) {
    case Toward::front:
      return "front";
    case Toward::back:
      return "back";
    case Toward::left:
      return "left";
    case Toward::right:
      return "right";
    case Toward::down:
      break;
  }
  return "down";
}

}  // namespace evenhand::cases
