// An open input, in which the driver's thread leaves its messages.
#ifndef EVENHAND_NATIVE_IN_H
#define EVENHAND_NATIVE_IN_H

#include "native.h"

#include <array>
#include <atomic>
#include <chrono>
#include <cstddef>

#ifdef __linux__
#include <semaphore.h>
#else
#include <condition_variable>
#include <mutex>
#endif

// Wakes a thread from another that may not wait itself.
class waker {
 public:
#ifdef __linux__
  waker() { sem_init(&rung_, 0, 0); }
  ~waker() { sem_destroy(&rung_); }
  void wake() { sem_post(&rung_); }
  void wait() {
    while (sem_wait(&rung_) != 0) continue;  // a signal came in between
    while (sem_trywait(&rung_) == 0) continue;
  }

 private:
  sem_t rung_;
#else
  // The threads of these systems are no real-time ones, and may wait for a moment.
  void wake() {
    std::lock_guard<std::mutex> lock(mutex_);
    rung_ = true;
    condition_.notify_one();
  }
  void wait() {
    std::unique_lock<std::mutex> lock(mutex_);
    condition_.wait(lock, [this] { return rung_; });
    rung_ = false;
  }

 private:
  std::mutex mutex_;
  std::condition_variable condition_;
  bool rung_ = false;
#endif
};

struct native_in {
  using clock = std::chrono::steady_clock;

  virtual ~native_in() = default;
  virtual void stop() = 0;                                // ends the driver's thread
  virtual bool lists(const char *) { return true; }       // see native_in_lists

  // Runs on the driver's thread, and keeps a message of three bytes: since the one before it, and when it
  // came. The others are in no take; their time counts to the next.
  void take(clock::duration since, clock::time_point came, const unsigned char *bytes, size_t size);

  bool next(native_message *);
  bool wait();
  void close();

  // Lets go of it, for whoever waited or whoever closed it. The second of them frees it: one that waits may
  // learn that it is closed from a message's wake, before the other has given its own.
  void release();

 private:
  struct message {
    clock::duration since;
    clock::time_point came;
    std::array<unsigned char, 3> bytes;
  };

  // Seven seconds of the most that fits down a MIDI cable, 1,041 messages of three bytes a second. What comes
  // when it is full is lost, as it is with any driver whose queue is not read.
  std::array<message, 8192> ring_;
  std::atomic<size_t> taken_{0}, given_{0};  // messages so far; written by one thread each
  clock::duration between_{0};               // of what was left out since the last message
  std::atomic<bool> closed_{false};
  std::atomic<int> holders_{2};
  waker waker_;
};

#endif
