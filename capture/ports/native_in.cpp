//go:build cgo && (linux || darwin || windows)

#include "native_in.h"

#include <algorithm>

void native_in::take(clock::duration since, clock::time_point came, const unsigned char *bytes, size_t size) {
  between_ += since;
  size_t taken = taken_.load(std::memory_order_relaxed);
  if (size != 3 || taken - given_.load(std::memory_order_acquire) == ring_.size()) return;
  message &m = ring_[taken % ring_.size()];
  m.since = between_;
  m.came = came;
  std::copy(bytes, bytes + size, m.bytes.begin());
  between_ = clock::duration::zero();
  taken_.store(taken + 1, std::memory_order_release);
  waker_.wake();
}

bool native_in::next(native_message *to) {
  size_t given = given_.load(std::memory_order_relaxed);
  if (taken_.load(std::memory_order_acquire) == given) return false;
  const message &m = ring_[given % ring_.size()];
  to->since = std::chrono::nanoseconds(m.since).count();
  to->age = std::chrono::nanoseconds(clock::now() - m.came).count();
  std::copy(m.bytes.begin(), m.bytes.end(), to->bytes);
  given_.store(given + 1, std::memory_order_release);
  return true;
}

bool native_in::wait() {
  waker_.wait();
  return !closed_;
}

void native_in::close() {
  stop();
  closed_ = true;
  waker_.wake();
}

void native_in::release() {
  if (--holders_ == 0) delete this;
}

int native_in_wait(native_in *in) {
  if (in->wait()) return 1;
  in->release();
  return 0;
}

int native_in_next(native_in *in, native_message *to) { return in->next(to); }

int native_in_lists(native_in *in, const char *source) { return in->lists(source); }

void native_in_close(native_in *in) {
  in->close();
  in->release();
}
